/**
 * SenML packs, RFC 8428, JSON form: base fields carried on, names and times resolved, then each record to a value by
 * its unit. Where a sensor sits and on which rig is told by the words of its name, or by the recipe's `rig` and `place`
 * over the resolved record (`/n`, `/u`, `/bn`).
 */
import { PLACES } from '../fold/inputs.ts'
import { meaning, termsOf } from './by-recipe.ts'
import type { BodyTerms, FindResult, Unfit } from './found.ts'
import { NATIVE_TERMS } from './found.ts'
import { resolvePointer } from './json-pointer.ts'
import { isObject } from './native.ts'
import type { RawRecord } from './reading-record.ts'
import type { Recipe } from './recipe.ts'

/** The version of RFC 8428 itself. */
const VERSION_MAX = 10
/** Section 4.5.3: times below 2^28 s are relative to now. */
const RELATIVE_BELOW_S = 2 ** 28
const KNOWN = new Set(['bn', 'bt', 'bu', 'bv', 'bs', 'bver', 'n', 'u', 'v', 'vs', 'vb', 'vd', 's', 't', 'ut'])

export type ResolvedRecord = {
  readonly bn: string
  readonly n: string
  readonly u: string | null
  /** `false`: the unit is the base unit, or there is none. */
  readonly isUnitOwn: boolean
  readonly t: number
  readonly v: number | null
  readonly vb: boolean | null
  readonly vs: string | null
}

export type SenmlSource = {
  readonly recipe: Recipe | null
  readonly rigs: readonly string[]
  readonly receivedS: number
}

/** A list whose first record has SenML's names: no native record has them. */
export function looksLikeSenml(body: unknown): boolean {
  const first: unknown = Array.isArray(body) ? body[0] : undefined
  if (!isObject(first)) return false
  const has = (name: string): boolean => Object.hasOwn(first, name)
  return has('bn') || has('bt') || (has('n') && (has('v') || has('vb') || has('vs') || has('u')))
}

export function findSenml(body: unknown, source: SenmlSource): FindResult {
  if (!Array.isArray(body) || body.length === 0) return nothing('', 'a SenML pack is a list of records')
  const resolved = resolvePack(body, source.receivedS)
  if ('pointer' in resolved) return nothing(resolved.pointer, resolved.detail)
  if (resolved.length === 0) return nothing('', 'no record of the pack has a value')
  return {
    readAs: 'SenML',
    records: resolved.map((record) => ('reason' in record ? record : recordOf(record, source))),
    terms: { ...termsFor(source), pointers: POINTERS },
  }
}

const POINTERS: BodyTerms['pointers'] = {
  at: '/t',
  humidity: '/v',
  temperature: '/v',
  pump: '/vb',
  power: '/v',
  place: '/n',
  rig: '/n',
}

function termsFor(source: SenmlSource): BodyTerms {
  if (source.recipe === null) return NATIVE_TERMS
  const { clockOffsetS } = termsOf(source.recipe, source.receivedS)
  return { ...NATIVE_TERMS, clockOffsetS }
}

function nothing(pointer: string, detail: string): FindResult {
  return { problem: 'no_record', detail, errors: [{ pointer, detail }] }
}

type Base = { bn: string; bt: number; bu: string | null; bv: number }
type PackProblem = { readonly pointer: string; readonly detail: string }

/** Section 4.6. Records that only carry base fields are none of their own; what cannot be understood stops the pack. */
export function resolvePack(
  pack: readonly unknown[],
  receivedS: number,
): readonly (ResolvedRecord | Unfit)[] | PackProblem {
  const base: Base = { bn: '', bt: 0, bu: null, bv: 0 }
  const resolved: (ResolvedRecord | Unfit)[] = []
  for (const [index, record] of pack.entries()) {
    if (!isObject(record)) {
      resolved.push({ pointer: '', reason: 'not_a_record', detail: 'not an object' })
      continue
    }
    const problem = understand(record, index)
    if (problem !== null) return problem
    takeBase(base, record)
    if (['v', 'vb', 'vs', 'vd', 's'].some((name) => Object.hasOwn(record, name)))
      resolved.push(resolveRecord(record, base, receivedS))
  }
  return resolved
}

function understand(record: Readonly<Record<string, unknown>>, index: number): PackProblem | null {
  const version = record['bver']
  if (version !== undefined && !(typeof version === 'number' && version <= VERSION_MAX))
    return { pointer: `/${index}/bver`, detail: `a SenML version over ${VERSION_MAX} is not understood` }
  const unknown = Object.keys(record).find((name) => name.endsWith('_') && !KNOWN.has(name))
  return unknown === undefined
    ? null
    : { pointer: `/${index}/${unknown.slice(0, 60)}`, detail: 'a field that has to be understood is not' }
}

function takeBase(base: Base, record: Readonly<Record<string, unknown>>): void {
  const { bn, bt, bu, bv } = record
  if (typeof bn === 'string') base.bn = bn
  if (typeof bt === 'number') base.bt = bt
  if (typeof bu === 'string') base.bu = bu
  if (typeof bv === 'number') base.bv = bv
}

function resolveRecord(
  record: Readonly<Record<string, unknown>>,
  base: Base,
  receivedS: number,
): ResolvedRecord | Unfit {
  const { n = '', u, v, vb, vs, t = 0 } = record
  if (typeof n !== 'string') return unfit('/n', 'the name is not a text')
  if (typeof t !== 'number') return unfit('/t', 'the time is not a number')
  if (v !== undefined && typeof v !== 'number') return unfit('/v', 'the value is not a number')
  const time = base.bt + t
  return {
    bn: base.bn,
    n: base.bn + n,
    u: typeof u === 'string' ? u : base.bu,
    isUnitOwn: typeof u === 'string',
    t: time < RELATIVE_BELOW_S ? receivedS + time : time,
    v: v === undefined ? null : base.bv + v,
    vb: typeof vb === 'boolean' ? vb : null,
    vs: typeof vs === 'string' ? vs : null,
  }
}

function unfit(pointer: string, detail: string): Unfit {
  return { pointer, reason: pointer === '/t' ? 'time_unreadable' : 'not_a_number', detail }
}

function recordOf(record: ResolvedRecord, source: SenmlSource): RawRecord | Unfit {
  const words = record.n.toLowerCase().split(/[^a-z0-9-]+/)
  const value = valueOf(record, words)
  if (value === null)
    return {
      pointer: record.u === null ? '/n' : '/u',
      reason: 'unknown_field',
      detail: `neither humidity, temperature, pump nor power: ${JSON.stringify(record.n.slice(-40))}, unit ${JSON.stringify(record.u)}`,
    }
  const nothingElse = { humidity: undefined, temperature: undefined, pump: undefined, power: undefined }
  return { ...nothingElse, ...value, at: Math.floor(record.t), ...whereOf(record, words, source) }
}

function whereOf(
  record: ResolvedRecord,
  words: readonly string[],
  { recipe, rigs }: SenmlSource,
): { readonly place: unknown; readonly rig: unknown } {
  const byName = {
    place: PLACES.find((place) => words.includes(place)),
    rig: rigs.find((slug) => words.includes(slug)),
  }
  if (recipe === null) return byName
  const { place, rig } = recipe
  return {
    place:
      typeof place === 'string'
        ? (byName.place ?? place)
        : meaning(place, resolvePointer(record, place.steps)),
    rig:
      rig === null || typeof rig === 'string'
        ? (byName.rig ?? rig)
        : meaning(rig, resolvePointer(record, rig.steps)),
  }
}

type Value = Partial<Pick<RawRecord, 'humidity' | 'temperature' | 'pump' | 'power'>>

/**
 * By the unit (IANA's SenML units, RFC 8798 for mW); `%` and `/` are ratios and tell nothing without a name. A pump has
 * watts, and its box a humidity: where a unit is said the name alone makes no number a state of the pump.
 */
function valueOf(record: ResolvedRecord, words: readonly string[]): Value | null {
  const { v, vb, vs } = record
  const isPump = words.some((word) => word === 'pump' || word === 'outlet')
  if (isPump && (vb !== null || vs !== null)) return { pump: vb ?? vs }
  if (v === null) return null
  if (isPump && isState(record, v)) return { pump: v }
  return measured(record.u, v, words)
}

/** A base unit is meant for the measurements beside it. */
function isState({ u, isUnitOwn }: ResolvedRecord, v: number): boolean {
  return u === null || u === '/' || (!isUnitOwn && (v === 0 || v === 1))
}

function measured(unit: string | null, v: number, words: readonly string[]): Value | null {
  switch (unit) {
    case '%RH':
      return { humidity: v }
    case 'Cel':
      return { temperature: v }
    case 'K':
      return { temperature: v - 273.15 }
    case 'far':
      return { temperature: ((v - 32) * 5) / 9 }
    case 'W':
      return { power: v }
    case 'mW':
      return { power: v / 1000 }
    case '%':
    case '/':
      return words.some((word) => word.startsWith('hum') || word === 'rh') ? { humidity: v * 100 } : null
    default:
      return null
  }
}
