/** The values of a post by name and place, over its first records: what a recipe can be proposed from. */
import { escapeStep } from './json-pointer.ts'
import { isObject } from './native.ts'

/** A value that stands at the same pointer in each record. */
export type Leaf = {
  readonly pointer: string
  /** The name that says what it is: of `{"hum": {"value": 9}}` it is "hum". */
  readonly name: string
  /** In the order of the records; records without it are left out. */
  readonly values: readonly unknown[]
  /** What stands beside it under "unit" or the like. */
  readonly unit: string | null
}

/** Posts nest a few levels; deeper is somebody's file, not a reading. */
const DEPTH_MAX = 6
const LEAVES_MAX = 200
const RECORDS_MAX = 50

/** Names that say nothing: the one above them counts. */
const GENERIC = /^(?:value|val|v|reading|state|current|now|data|raw|num|numeric|result)$/i
const UNIT = /^(?:unit|units|uom|u)$/i

export type List = {
  readonly pointer: string
  readonly records: readonly Readonly<Record<string, unknown>>[]
}

/** Every list of objects in the document, outermost first. */
export function listsIn(value: unknown, pointer = '', depth = 0): readonly List[] {
  if (depth > DEPTH_MAX) return []
  if (Array.isArray(value)) {
    const records = value.filter(isObject).slice(0, RECORDS_MAX)
    return records.length > 0 ? [{ pointer, records }] : []
  }
  if (!isObject(value)) return []
  return Object.entries(value)
    .slice(0, LEAVES_MAX)
    .flatMap(([name, inner]) => listsIn(inner, `${pointer}/${escapeStep(name)}`, depth + 1))
}

export function leavesOf(records: readonly unknown[]): readonly Leaf[] {
  const found = new Map<string, Leaf & { values: unknown[] }>()
  for (const record of records) collect(record, { found, pointer: '', name: '', depth: 0 })
  return [...found.values()]
}

type Walk = {
  readonly found: Map<string, Leaf & { values: unknown[] }>
  readonly pointer: string
  readonly name: string
  readonly depth: number
}

function collect(value: unknown, walk: Walk): void {
  if (!isObject(value) || walk.depth > DEPTH_MAX) return
  const unit = Object.entries(value).find(([name]) => UNIT.test(name))?.[1]
  for (const [step, inner] of Object.entries(value)) {
    const pointer = `${walk.pointer}/${escapeStep(step)}`
    const name = GENERIC.test(step) && walk.name !== '' ? walk.name : step
    if (isObject(inner)) {
      collect(inner, { found: walk.found, pointer, name, depth: walk.depth + 1 })
      continue
    }
    const known = walk.found.get(pointer)
    if (known !== undefined) known.values.push(inner)
    else if (walk.found.size < LEAVES_MAX)
      walk.found.set(pointer, {
        pointer,
        name,
        values: [inner],
        unit: typeof unit === 'string' && !UNIT.test(step) ? unit : null,
      })
  }
}

/** The name in lower-case words: "boxTempF" and "box_temp-f" are "box temp f". */
export function wordsOf(name: string): string {
  return name
    .replaceAll(/([a-z0-9])([A-Z])/g, '$1 $2')
    .replaceAll(/[^A-Za-z0-9%°]+/g, ' ')
    .trim()
    .toLowerCase()
}

/** The values that are numbers, or texts that are nothing but one. */
export function numbersOf(leaf: Leaf): readonly number[] {
  return leaf.values.flatMap((value) => {
    if (typeof value === 'number') return Number.isFinite(value) ? [value] : []
    if (typeof value !== 'string' || value.trim() === '') return []
    const number = Number(value)
    return Number.isFinite(number) ? [number] : []
  })
}
