/**
 * One record of a post to one reading: the same checks whatever the body was. Hand-written, because 5,000 of them have
 * to pass in a few milliseconds; every refusal names the field and quotes what was there.
 */
import { AHEAD_MAX_S, AT_MIN_S, QUOTE_MAX_CHARS } from '../limits.ts'
import { readInstant, timestampText } from './instant.ts'
import { pumpWord } from './pump-words.ts'
import type {
  Field,
  KeptReading,
  Note,
  PlaceCode,
  RawRecord,
  SetAside,
  SetAsideReason,
} from './reading-record.ts'
import type { Linear } from './units.ts'

export type PostRig = {
  readonly key: number
  readonly slug: string
}

/** How the fields of this body are to be taken, and what this source may write to. */
export type ReadingTerms = {
  readonly pointers: Readonly<Record<Field, string>>
  readonly humidity: Linear
  readonly temperature: Linear
  readonly power: Linear
  /** `null`: a number by its size, else RFC 3339. */
  readonly timeUnit: 's' | 'ms' | 'rfc3339' | null
  /** What counts as on and off; `null`: true/false, "on"/"off", 1/0. */
  readonly pumpWords: { readonly on: ReadonlySet<string>; readonly off: ReadonlySet<string> | null } | null
  /** Local times to UTC, in the order of each series; `null`: a time without a zone is set aside. */
  readonly localToUtcS: ((localS: number, series: number) => number | null) | null
  /** Added to every time the hub gives: -3600 for a clock that is an hour ahead. */
  readonly clockOffsetS: number
  /** In CSV and forms an empty field is a missing one. */
  readonly isEmptyMissing: boolean
  readonly rigs: readonly PostRig[]
  readonly receivedS: number
}

export type RecordResult =
  | {
      readonly ok: true
      readonly reading: KeptReading
      readonly isTimeMissing: boolean
      readonly note: Note | null
    }
  | { readonly ok: false; readonly setAside: SetAside }

/** Words hubs send for "no value just now". */
const UNAVAILABLE = new Set([
  'unavailable',
  'unknown',
  'none',
  'null',
  'nan',
  'n/a',
  'na',
  'offline',
  'undefined',
  '-',
])
const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/
const HUMIDITY_OVERSHOOT_PCT = 105
const TEMP_MIN_C = -60
const TEMP_MAX_C = 120
/** Above any mains outlet. */
const POWER_MAX_W = 10_000
const PLACE_CODES: Readonly<Record<string, PlaceCode>> = { return: 0, supply: 1, ambient: 2, engine: 3 }

export function readRecord(raw: RawRecord, index: number, terms: ReadingTerms): RecordResult {
  const refuse = (field: Field | null, reason: SetAsideReason, detail: string): RecordResult => ({
    ok: false,
    setAside: { index, pointer: field === null ? '' : terms.pointers[field], reason, detail },
  })
  const rig = findRig(raw.rig, terms)
  if (typeof rig !== 'object') return refuse('rig', rig, rigDetail(rig))
  const place = readPlace(raw.place)
  if (place === null)
    return refuse('place', 'unknown_place', `${quote(raw.place)} is not return, supply, ambient or engine`)
  const at = readTime(raw.at, rig.key * 4 + place, terms)
  if (typeof at === 'object' && at !== null) return refuse('at', at.reason, at.detail)
  const humidity = readNumber(raw.humidity, terms.humidity, terms.isEmptyMissing)
  if (typeof humidity === 'string') return refuse('humidity', humidity, notNumber(raw.humidity))
  if (humidity !== null && (humidity < 0 || humidity > HUMIDITY_OVERSHOOT_PCT))
    return refuse('humidity', 'humidity_range', `${shown(humidity)} % is outside 0 to 100`)
  const temp = readNumber(raw.temperature, terms.temperature, terms.isEmptyMissing)
  if (typeof temp === 'string') return refuse('temperature', temp, notNumber(raw.temperature))
  if (temp !== null && (temp < TEMP_MIN_C || temp > TEMP_MAX_C))
    return refuse(
      'temperature',
      'temperature_range',
      `${shown(temp)} degC is outside ${TEMP_MIN_C} to ${TEMP_MAX_C}`,
    )
  const power = readNumber(raw.power, terms.power, terms.isEmptyMissing)
  if (typeof power === 'string') return refuse('power', power, notNumber(raw.power))
  if (power !== null && (power < 0 || power > POWER_MAX_W))
    return refuse('power', 'power_range', `${shown(power)} W is outside 0 to ${POWER_MAX_W}`)
  const pumpOn = readPump(raw.pump, terms)
  if (typeof pumpOn === 'string') return refuse('pump', pumpOn, `${quote(raw.pump)} is neither on nor off`)
  if (humidity === null && temp === null && power === null && pumpOn === null)
    return refuse(null, 'no_value', 'no humidity, temperature, pump or power in it')
  const reading: KeptReading = {
    index,
    rigKey: rig.key,
    place,
    atS: at ?? terms.receivedS,
    humidityCentiPct: humidity === null ? null : Math.min(10_000, Math.round(humidity * 100)),
    tempCentiC: temp === null ? null : Math.round(temp * 100),
    pumpOn,
    powerDeciW: power === null ? null : Math.round(power * 10),
  }
  const note =
    humidity !== null && humidity > 100 ? overshoot(index, terms.pointers.humidity, humidity) : null
  return { ok: true, reading, isTimeMissing: at === null, note }
}

function overshoot(index: number, pointer: string, humidityPct: number): Note {
  return { index, pointer, reason: 'over_100_kept_as_100', detail: `${shown(humidityPct)} % is kept as 100` }
}

function findRig(value: unknown, terms: ReadingTerms): PostRig | 'unknown_rig' | 'rig_missing' {
  const only = terms.rigs.length === 1 ? terms.rigs[0] : undefined
  if (isMissing(value) || value === '') return only ?? 'rig_missing'
  return terms.rigs.find((rig) => rig.slug === value) ?? 'unknown_rig'
}

function rigDetail(reason: 'unknown_rig' | 'rig_missing'): string {
  return reason === 'rig_missing'
    ? 'this source serves several rigs: the record has to name one'
    : 'this source serves no rig of that name'
}

function readPlace(value: unknown): PlaceCode | null {
  if (isMissing(value) || value === '') return 0
  return typeof value === 'string' && Object.hasOwn(PLACE_CODES, value) ? (PLACE_CODES[value] ?? null) : null
}

type TimeRefusal = { readonly reason: SetAsideReason; readonly detail: string }

/** Seconds, `null` if the record has no time, or why it cannot be taken. */
function readTime(value: unknown, series: number, terms: ReadingTerms): number | null | TimeRefusal {
  if (isMissing(value) || (value === '' && terms.isEmptyMissing)) return null
  const instant = readInstant(
    terms.timeUnit === 's' || terms.timeUnit === 'ms' ? scaled(value, terms.timeUnit) : value,
  )
  if (instant.kind === 'unreadable')
    return { reason: 'time_unreadable', detail: `${quote(value)} is neither RFC 3339 nor a Unix time` }
  const givenS =
    instant.kind === 'instant' ? instant.atS : (terms.localToUtcS?.(instant.localS, series) ?? null)
  if (givenS === null)
    return {
      reason: 'time_no_zone',
      detail: `${quote(value)} has no zone: end it with Z, or give the recipe one`,
    }
  const atS = givenS + terms.clockOffsetS
  if (atS < AT_MIN_S)
    return {
      reason: 'time_before_2000',
      detail: `${quote(value)} is before 2000: the hub has not set its clock`,
    }
  if (atS > terms.receivedS + AHEAD_MAX_S) return { reason: 'time_ahead', detail: aheadDetail(atS, terms) }
  return atS
}

/** With the unit said by a recipe the size of the number no longer decides: milliseconds are made seconds and back. */
function scaled(value: unknown, unit: 's' | 'ms'): unknown {
  const number = typeof value === 'string' && NUMBER.test(value.trim()) ? Number(value) : value
  if (typeof number !== 'number') return value
  const seconds = Math.floor(unit === 'ms' ? number / 1000 : number)
  return Math.abs(seconds) < 1e11 ? seconds : Number.NaN
}

const QUARTER_S = 900
/** A clock that is wrong by its zone is off by whole quarters of an hour, give or take a slow post. */
const NEAR_QUARTER_S = 120

/** The offset of a hub's clock if it looks like a zone mistake: whole quarter hours; else `null`. */
export function clockAheadS(atS: number, receivedS: number): number | null {
  const aheadS = atS - receivedS
  const quarters = Math.round(aheadS / QUARTER_S)
  const isNear = Math.abs(aheadS - quarters * QUARTER_S) <= NEAR_QUARTER_S
  return quarters > 0 && quarters <= 56 && isNear ? quarters * QUARTER_S : null
}

function aheadDetail(atS: number, terms: ReadingTerms): string {
  const offsetS = clockAheadS(atS, terms.receivedS)
  if (offsetS === null)
    return `${timestampText(atS)} is more than 5 minutes ahead of ${timestampText(terms.receivedS)}`
  const hours = Math.floor(offsetS / 3600)
  const minutes = (offsetS % 3600) / 60
  const span = [hours > 0 ? `${hours} h` : '', minutes > 0 ? `${minutes} min` : ''].filter(Boolean).join(' ')
  return `hub clock ${span} ahead: "clockOffsetS": ${terms.clockOffsetS - offsetS} in the recipe corrects it`
}

function readPump(value: unknown, terms: ReadingTerms): 0 | 1 | null | 'pump_unreadable' | 'unavailable' {
  if (isMissing(value) || (value === '' && terms.isEmptyMissing)) return null
  if (terms.pumpWords !== null) {
    const word = pumpWord(value)
    if (word === null) return 'pump_unreadable'
    if (terms.pumpWords.on.has(word)) return 1
    if (terms.pumpWords.off?.has(word) === true) return 0
    if (isUnavailable(value)) return 'unavailable'
    return terms.pumpWords.off === null && word !== '' ? 0 : 'pump_unreadable'
  }
  if (value === true || value === 1) return 1
  if (value === false || value === 0) return 0
  if (typeof value !== 'string') return 'pump_unreadable'
  const word = value.trim().toLowerCase()
  if (word === 'on' || word === 'true' || word === '1') return 1
  if (word === 'off' || word === 'false' || word === '0') return 0
  return UNAVAILABLE.has(word) ? 'unavailable' : 'pump_unreadable'
}

/** In the stored unit; `null` if missing; else why not. NaN and infinities never pass. */
function readNumber(
  value: unknown,
  unit: Linear,
  isEmptyMissing: boolean,
): number | null | 'unavailable' | 'not_a_number' {
  if (typeof value === 'number') return inUnit(value, unit)
  if (isMissing(value)) return null
  if (typeof value !== 'string') return 'not_a_number'
  const text = value.trim()
  if (text === '') return isEmptyMissing ? null : 'not_a_number'
  const number = numberOf(text)
  if (number !== null) return inUnit(number, unit)
  return isUnavailable(text) ? 'unavailable' : 'not_a_number'
}

const NINE = '9'.charCodeAt(0)

/** Plain digits need no pattern: what else `Number` takes (hexadecimal, infinity) has a letter first or second. */
function numberOf(text: string): number | null {
  const number = Number(text)
  if (number >= 0 && text.charCodeAt(text.length > 1 ? 1 : 0) <= NINE) return number
  return NUMBER.test(text) ? number : null
}

function inUnit(value: number, unit: Linear): number | 'not_a_number' {
  const converted = value * unit.scale + unit.offset
  return Number.isFinite(converted) ? converted : 'not_a_number'
}

function isUnavailable(value: unknown): boolean {
  return typeof value === 'string' && UNAVAILABLE.has(value.trim().toLowerCase())
}

function isMissing(value: unknown): boolean {
  return value === undefined || value === null
}

function notNumber(value: unknown): string {
  return isUnavailable(value)
    ? `${quote(value)} says that there was no value`
    : `${quote(value)} is not a number`
}

function shown(value: number): string {
  return String(Math.round(value * 1000) / 1000)
}

/** Enough of a value to recognise it: never its inside, never more than a few words. */
export function quote(value: unknown): string {
  if (typeof value === 'string') {
    const cut = value.length > QUOTE_MAX_CHARS ? `${value.slice(0, QUOTE_MAX_CHARS)}…` : value
    return JSON.stringify(cut)
  }
  if (Array.isArray(value)) return 'a list'
  return typeof value === 'number' || typeof value === 'boolean' ? String(value) : 'an object'
}
