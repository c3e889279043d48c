/** A recipe: which value is where in a hub's posts, in which unit, for which rig and place. Checked before it is saved. */
import type { Place } from '../fold/inputs.ts'
import { PLACES } from '../fold/inputs.ts'
import { RECIPE_MATCHES_MAX } from '../limits.ts'
import { parsePointer } from './json-pointer.ts'
import { isZone } from './local-time.ts'
import { isObject } from './native.ts'
import { pumpWordsOf } from './pump-words.ts'
import { HUMIDITY_UNITS, POWER_UNITS, SAME, TEMPERATURE_UNITS } from './units.ts'
import type { Linear, TimeUnit } from './units.ts'

export type From = { readonly pointer: string; readonly steps: readonly string[] }
export type Measured = From & { readonly linear: Linear }
export type Matched = From & { readonly match: ReadonlyMap<string, string> | null }

export type Recipe = {
  readonly each: From | null
  readonly at: (From & { readonly unit: TimeUnit | null }) | null
  readonly humidity: Measured | null
  readonly temperature: Measured | null
  readonly power: Measured | null
  readonly pump:
    | (From & {
        readonly words: { readonly on: ReadonlySet<string>; readonly off: ReadonlySet<string> | null } | null
      })
    | null
  /** A constant, or by a value of the record. */
  readonly rig: string | Matched | null
  readonly place: Place | Matched
  readonly clockOffsetS: number
  readonly zone: string | null
}

export type RecipeProblem = { readonly pointer: string; readonly detail: string }
export type RecipeResult =
  | { readonly ok: true; readonly recipe: Recipe }
  | { readonly ok: false; readonly problems: readonly RecipeProblem[] }

const KEYS = [
  'each',
  'at',
  'humidity',
  'temperature',
  'pump',
  'power',
  'rig',
  'place',
  'clockOffsetS',
  'zone',
]
const TIME_UNITS: readonly string[] = ['s', 'ms', 'rfc3339']
/** Further off than a day no constant repairs a clock. */
const CLOCK_OFFSET_MAX_S = 86_400

/** Never throws. Every problem is named by its place in the recipe. */
export function readRecipe(value: unknown): RecipeResult {
  const problems: RecipeProblem[] = []
  if (!isObject(value)) return { ok: false, problems: [{ pointer: '', detail: 'a recipe is an object' }] }
  for (const key of Object.keys(value))
    if (!KEYS.includes(key))
      problems.push({ pointer: `/${key}`, detail: `no recipe has this: ${KEYS.join(', ')}` })
  const given: Given = { recipe: value, problems }
  const recipe: Recipe = {
    each:
      value['each'] === undefined || value['each'] === null ? null : pointerAt(given, value['each'], '/each'),
    at: readAt(given),
    humidity: readMeasured(given, 'humidity', HUMIDITY_UNITS),
    temperature: readMeasured(given, 'temperature', TEMPERATURE_UNITS),
    power: readMeasured(given, 'power', POWER_UNITS),
    pump: readPump(given),
    rig: readMatched(given, 'rig', null),
    place: readPlace(given),
    clockOffsetS: readClockOffsetS(given),
    zone: readZone(given),
  }
  if (
    recipe.humidity === null &&
    recipe.temperature === null &&
    recipe.power === null &&
    recipe.pump === null
  )
    problems.push({
      pointer: '',
      detail: 'it has to find at least one of humidity, temperature, pump, power',
    })
  return problems.length > 0 ? { ok: false, problems } : { ok: true, recipe }
}

type Given = { readonly recipe: Readonly<Record<string, unknown>>; readonly problems: RecipeProblem[] }

function problem(given: Given, pointer: string, detail: string): null {
  given.problems.push({ pointer, detail })
  return null
}

function readFrom(
  given: Given,
  key: string,
  allowed: readonly string[],
): { readonly from: From; readonly field: Readonly<Record<string, unknown>> } | null {
  const field = given.recipe[key]
  if (field === undefined || field === null) return null
  if (!isObject(field)) return problem(given, `/${key}`, 'an object such as {"from": "/hum"}')
  for (const name of Object.keys(field))
    if (!allowed.includes(name)) problem(given, `/${key}/${name}`, `not known here: ${allowed.join(', ')}`)
  const from = pointerAt(given, field['from'], `/${key}/from`)
  return from === null ? null : { from, field }
}

function pointerAt(given: Given, value: unknown, where: string): From | null {
  const steps = typeof value === 'string' ? parsePointer(value) : null
  if (steps === null || typeof value !== 'string')
    return problem(given, where, 'a JSON Pointer: empty, or steps that each begin with /')
  return { pointer: value, steps }
}

function readAt(given: Given): Recipe['at'] {
  const found = readFrom(given, 'at', ['from', 'unit'])
  if (found === null) return null
  const unit = found.field['unit']
  if (unit !== undefined && !isTimeUnit(unit)) problem(given, '/at/unit', `one of ${TIME_UNITS.join(', ')}`)
  return { ...found.from, unit: isTimeUnit(unit) ? unit : null }
}

function readMeasured(given: Given, key: string, units: Readonly<Record<string, Linear>>): Measured | null {
  const found = readFrom(given, key, ['from', 'unit'])
  if (found === null) return null
  const unit = found.field['unit']
  const isKnown = typeof unit === 'string' && Object.hasOwn(units, unit)
  if (unit !== undefined && !isKnown)
    problem(given, `/${key}/unit`, `one of ${Object.keys(units).join(', ')}`)
  return { ...found.from, linear: (isKnown ? units[unit] : undefined) ?? SAME }
}

function readPump(given: Given): Recipe['pump'] {
  const found = readFrom(given, 'pump', ['from', 'on', 'off'])
  if (found === null) return null
  const on = listAt(given, found.field['on'], '/pump/on')
  const off = listAt(given, found.field['off'], '/pump/off')
  if (on === null && off !== null) problem(given, '/pump/on', 'is needed where "off" is given')
  return { ...found.from, words: on === null ? null : { on, off } }
}

function listAt(given: Given, value: unknown, where: string): ReadonlySet<string> | null {
  if (value === undefined) return null
  const words = Array.isArray(value) ? pumpWordsOf(value) : null
  return words !== null && words.size > 0
    ? words
    : problem(given, where, 'a list of the values that the hub sends: texts, numbers, true or false')
}

function readMatched<F>(given: Given, key: 'rig' | 'place', fallback: F): string | Matched | F {
  const field = given.recipe[key]
  if (field === undefined || field === null) return fallback
  if (typeof field === 'string') return field
  const found = readFrom(given, key, ['from', 'match'])
  if (found === null) return fallback
  return { ...found.from, match: matchOf(found.field['match'], `/${key}/match`, given.problems) }
}

function readPlace(given: Given): Place | Matched {
  const found = readMatched(given, 'place', 'return' as const)
  if (typeof found !== 'string') {
    for (const place of found.match?.values() ?? [])
      if (!isPlace(place)) problem(given, '/place/match', `${place} is none of ${PLACES.join(', ')}`)
    return found
  }
  if (isPlace(found)) return found
  problem(given, '/place', `one of ${PLACES.join(', ')}`)
  return 'return'
}

function readClockOffsetS({ recipe, problems }: Given): number {
  const value = recipe['clockOffsetS']
  if (value === undefined || value === null) return 0
  if (typeof value === 'number' && Number.isInteger(value) && Math.abs(value) <= CLOCK_OFFSET_MAX_S)
    return value
  problems.push({
    pointer: '/clockOffsetS',
    detail: "whole seconds that are added to the hub's times, within a day",
  })
  return 0
}

function readZone(given: Given): string | null {
  const value = given.recipe['zone']
  if (value === undefined || value === null) return null
  if (typeof value === 'string' && isZone(value)) return value
  return problem(given, '/zone', 'an IANA time zone such as Europe/Lisbon')
}

function matchOf(
  value: unknown,
  where: string,
  problems: RecipeProblem[],
): ReadonlyMap<string, string> | null {
  if (value === undefined || value === null) return null
  const entries = isObject(value) ? Object.entries(value) : []
  if (entries.length === 0 || entries.length > RECIPE_MATCHES_MAX) {
    problems.push({
      pointer: where,
      detail: `an object with 1 to ${RECIPE_MATCHES_MAX} entries: what the hub sends, and what it means`,
    })
    return null
  }
  const match = new Map<string, string>()
  for (const [key, meaning] of entries) {
    if (typeof meaning === 'string') match.set(key, meaning)
    else problems.push({ pointer: where, detail: `the meaning of "${key.slice(0, 60)}" is not a text` })
  }
  return match
}

function isTimeUnit(value: unknown): value is TimeUnit {
  return typeof value === 'string' && TIME_UNITS.includes(value)
}

function isPlace(value: string): value is Place {
  return PLACES.some((place) => place === value)
}
