/** The bodies that hubs post, made from readings. */
import { gzipSync } from 'node:zlib'
import type { Reading } from '../../src/core/fold/inputs.ts'
import type { Post } from './send.ts'

export const BODY_KINDS = ['native', 'recipe', 'senml', 'form', 'csv'] as const
export type BodyKind = (typeof BODY_KINDS)[number]

export type EncodeOptions = {
  readonly kind: BodyKind
  /** Named in each record where a source serves several rigs. */
  readonly rig: string | null
  readonly isZipped: boolean
}

/** Most readings of one post: a form says one thing, the rest is bounded by the service. */
export function postMax(kind: BodyKind): number {
  return kind === 'form' ? 1 : 5000
}

/** The recipe that reads what kind `recipe` posts: an event with names, units and an array of its own. */
export function recipeFor(rig: string | null): Record<string, unknown> {
  return {
    each: '/data',
    at: { from: '/ts', unit: 's' },
    humidity: { from: '/hum', unit: '%' },
    temperature: { from: '/tmp', unit: 'degF' },
    pump: { from: '/sw', on: ['on'] },
    power: { from: '/mw', unit: 'mW' },
    place: { from: '/pos', match: { 0: 'return', 1: 'supply', 2: 'ambient', 3: 'engine' } },
    ...(rig === null ? {} : { rig: { from: '/dev', match: { [`dryer/${rig}`]: rig } } }),
  }
}

export function encodePost(readings: readonly Reading[], { kind, rig, isZipped }: EncodeOptions): Post {
  const { contentType, text } = encoders[kind](readings, rig)
  return { contentType, body: isZipped ? new Uint8Array(gzipSync(text)) : text, isZipped }
}

type Encoder = (readings: readonly Reading[], rig: string | null) => { contentType: string; text: string }

const encoders: Readonly<Record<BodyKind, Encoder>> = {
  native: (readings, rig) => ({
    contentType: 'application/json',
    text: JSON.stringify({ readings: readings.map((reading) => nativeRecord(reading, rig)) }),
  }),
  recipe: (readings, rig) => ({
    contentType: 'application/json',
    text: JSON.stringify({ data: readings.map((reading) => recipeRecord(reading, rig)) }),
  }),
  senml: (readings, rig) => ({
    contentType: 'application/senml+json',
    text: JSON.stringify(readings.flatMap((reading) => senmlRecords(reading, rig))),
  }),
  form: (readings, rig) => ({
    contentType: 'application/x-www-form-urlencoded',
    text: readings
      .map((reading) => new URLSearchParams(texts(nativeRecord(reading, rig))).toString())
      .join('&'),
  }),
  csv: (readings, rig) => ({
    contentType: 'text/csv',
    text: `${CSV_COLUMNS.join(',')}\n${readings.map((reading) => csvLine(reading, rig)).join('')}`,
  }),
}

export const CSV_COLUMNS = ['at', 'humidity', 'temperature', 'pump', 'power', 'place', 'rig'] as const

export function rfc3339(atS: number): string {
  return new Date(atS * 1000).toISOString().replace('.000Z', 'Z')
}

function nativeRecord(reading: Reading, rig: string | null) {
  return {
    at: rfc3339(reading.atS),
    ...(reading.humidityPct === null ? {} : { humidity: reading.humidityPct }),
    ...(reading.tempC === null ? {} : { temperature: reading.tempC }),
    ...(reading.pumpOn === null ? {} : { pump: reading.pumpOn }),
    ...(reading.powerW === null ? {} : { power: reading.powerW }),
    ...(reading.place === 'return' ? {} : { place: reading.place }),
    ...(rig === null ? {} : { rig }),
  }
}

function recipeRecord(reading: Reading, rig: string | null) {
  const places = ['return', 'supply', 'ambient', 'engine']
  return {
    ts: reading.atS,
    pos: places.indexOf(reading.place),
    ...(rig === null ? {} : { dev: `dryer/${rig}` }),
    ...(reading.humidityPct === null ? {} : { hum: String(reading.humidityPct) }),
    // To a thousandth, so that the hundredth of a degC survives the way there and back.
    ...(reading.tempC === null ? {} : { tmp: Math.round((reading.tempC * 1.8 + 32) * 1000) / 1000 }),
    ...(reading.pumpOn === null ? {} : { sw: reading.pumpOn ? 'on' : 'off' }),
    ...(reading.powerW === null ? {} : { mw: Math.round(reading.powerW * 1000) }),
  }
}

/** RFC 8428: one record a value; the base name says rig and place, the base time says when. */
function senmlRecords(reading: Reading, rig: string | null): Record<string, unknown>[] {
  const records: Record<string, unknown>[] = []
  if (reading.humidityPct !== null) records.push({ n: 'humidity', u: '%RH', v: reading.humidityPct })
  if (reading.tempC !== null) records.push({ n: 'temperature', u: 'Cel', v: reading.tempC })
  if (reading.pumpOn !== null) records.push({ n: 'pump', vb: reading.pumpOn })
  if (reading.powerW !== null) records.push({ n: 'power', u: 'W', v: reading.powerW })
  const [first, ...rest] = records
  if (first === undefined) return []
  const base = [...(rig === null ? [] : [rig]), reading.place].join('/')
  return [{ bn: `${base}/`, bt: reading.atS, ...first }, ...rest]
}

function csvLine(reading: Reading, rig: string | null): string {
  const record: Record<string, unknown> = nativeRecord(reading, rig)
  return `${CSV_COLUMNS.map((name) => quote(record[name])).join(',')}\n`
}

function quote(value: unknown): string {
  const text =
    typeof value === 'string' || typeof value === 'number' || typeof value === 'boolean' ? String(value) : ''
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
}

function texts(record: Record<string, unknown>): Record<string, string> {
  return Object.fromEntries(Object.entries(record).map(([name, value]) => [name, quote(value)]))
}
