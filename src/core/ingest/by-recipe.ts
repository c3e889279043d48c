/** Reads the records of a post by a recipe. */
import type { BodyTerms, FindResult, Unfit } from './found.ts'
import { NATIVE_TERMS } from './found.ts'
import { resolvePointer } from './json-pointer.ts'
import { localClock } from './local-time.ts'
import { isObject } from './native.ts'
import type { RawRecord } from './reading-record.ts'
import type { From, Matched, Recipe } from './recipe.ts'
import { SAME } from './units.ts'

const NOT_A_RECORD: Unfit = { pointer: '', reason: 'not_a_record', detail: 'neither an object nor a list' }

export function findByRecipe(
  document: unknown,
  recipe: Recipe,
  read: { readonly readAs: string; readonly receivedS: number; readonly isEmptyMissing?: boolean },
): FindResult {
  const found = resolvePointer(document, recipe.each?.steps ?? [])
  if (found === undefined || (Array.isArray(found) && found.length === 0))
    return nothing(recipe.each?.pointer ?? '', 'the recipe finds no record: nothing is at "each"')
  const items: readonly unknown[] = Array.isArray(found) ? found : [found]
  const values = [recipe.humidity, recipe.temperature, recipe.pump, recipe.power].filter(
    (one) => one !== null,
  )
  const isThere = items.some((item) =>
    values.some((value) => resolvePointer(item, value.steps) !== undefined),
  )
  if (!isThere)
    return nothing(
      '',
      `the recipe finds no record: nothing is at ${values.map((one) => one.pointer).join(', ')}`,
    )
  return {
    readAs: read.readAs,
    // A row that is a list has its values under /0, /1 and so on.
    records: items.map((item) =>
      isObject(item) || Array.isArray(item) ? pick(item, document, recipe) : NOT_A_RECORD,
    ),
    terms: { ...termsOf(recipe, read.receivedS), isEmptyMissing: read.isEmptyMissing ?? false },
  }
}

function nothing(pointer: string, detail: string): FindResult {
  return { problem: 'no_record', detail, errors: [{ pointer, detail }] }
}

function pick(item: unknown, document: unknown, recipe: Recipe): RawRecord {
  const value = (from: From | null): unknown => (from === null ? undefined : resolvePointer(item, from.steps))
  // Time, rig and place may stand once for all records, outside of them.
  const common = (from: From): unknown => value(from) ?? resolvePointer(document, from.steps)
  return {
    at: recipe.at === null ? undefined : common(recipe.at),
    humidity: value(recipe.humidity),
    temperature: value(recipe.temperature),
    pump: value(recipe.pump),
    power: value(recipe.power),
    place: typeof recipe.place === 'string' ? recipe.place : meaning(recipe.place, common(recipe.place)),
    rig:
      recipe.rig === null || typeof recipe.rig === 'string'
        ? recipe.rig
        : meaning(recipe.rig, common(recipe.rig)),
  }
}

/** What the hub's word stands for; a word that has no match stays itself and is then refused by name. */
export function meaning(matched: Matched, value: unknown): unknown {
  if (typeof value !== 'string' && typeof value !== 'number' && typeof value !== 'boolean') return value
  return matched.match === null
    ? value
    : (matched.match.get(String(value)) ?? `no match for ${String(value)}`)
}

export function termsOf(recipe: Recipe, receivedS: number): BodyTerms {
  return {
    pointers: {
      at: pointerOf(recipe.at, NATIVE_TERMS.pointers.at),
      humidity: pointerOf(recipe.humidity, NATIVE_TERMS.pointers.humidity),
      temperature: pointerOf(recipe.temperature, NATIVE_TERMS.pointers.temperature),
      pump: pointerOf(recipe.pump, NATIVE_TERMS.pointers.pump),
      power: pointerOf(recipe.power, NATIVE_TERMS.pointers.power),
      place: pointerOf(recipe.place, NATIVE_TERMS.pointers.place),
      rig: pointerOf(recipe.rig, NATIVE_TERMS.pointers.rig),
    },
    humidity: recipe.humidity?.linear ?? SAME,
    temperature: recipe.temperature?.linear ?? SAME,
    power: recipe.power?.linear ?? SAME,
    timeUnit: recipe.at?.unit ?? null,
    pumpWords: recipe.pump?.words ?? null,
    localToUtcS: recipe.zone === null ? null : localClock(recipe.zone, receivedS),
    clockOffsetS: recipe.clockOffsetS,
    isEmptyMissing: false,
  }
}

function pointerOf(from: From | Matched | string | null, otherwise: string): string {
  return from === null || typeof from === 'string' ? otherwise : from.pointer
}
