/**
 * A first recipe from a post that somebody's hub really sent: names and values are looked at, and each mapping says why
 * it is thought. A guess, and shown as one: it is tried on the post before it is saved.
 */
import { PLACES } from '../fold/inputs.ts'
import { readCsvRecords, readFormFields } from './flat-bodies.ts'
import { parseJson } from './find-records.ts'
import { readInstant } from './instant.ts'
import { leavesOf, listsIn, numbersOf, wordsOf, type Leaf, type List } from './leaves.ts'
import { findHumidity, findPower, findTemperature } from './propose-values.ts'
import { clockAheadS, quote } from './read-record.ts'
import { looksLikeSenml } from './senml.ts'

export type Reason = {
  /** A key of the recipe. */
  readonly field: string
  readonly pointer: string
  readonly reason: string
}

export type Proposal =
  | {
      readonly recipe: Readonly<Record<string, unknown>>
      readonly reasons: readonly Reason[]
      /** What the person should know or add. */
      readonly notes: readonly string[]
    }
  | { readonly recipe: null; readonly why: string }

export type PostToPropose = {
  readonly mediaType: string | null
  readonly text: string
  /** Slugs of the rigs that the source serves. */
  readonly rigs: readonly string[]
  readonly receivedS: number
}

type Part = {
  readonly field: Readonly<Record<string, unknown>>
  readonly reasons?: readonly Reason[]
  readonly notes?: readonly string[]
}
const NOTHING: Part = { field: {} }

export function proposeRecipe(post: PostToPropose): Proposal {
  const document = documentOf(post)
  if (document === undefined)
    return { recipe: null, why: 'The post is no JSON, no form and no CSV with a header.' }
  if (looksLikeSenml(document)) return { recipe: null, why: 'SenML is read without a recipe.' }
  const list = listWith(document)
  const inside = leavesOf(list === null ? [document] : list.records)
  const humidity = findHumidity(inside)
  const temperature = findTemperature(inside)
  if (humidity.found === null && temperature.found === null)
    return {
      recipe: null,
      why: 'There is no humidity and no temperature in it that goes by its name and can be one.',
    }
  // Time, device and place may stand once for all records, outside of them.
  const everywhere = list === null ? inside : [...inside, ...leavesOf([document])]
  const parts = [
    eachOf(list),
    timeOf(everywhere, post.receivedS),
    measured('humidity', humidity),
    measured('temperature', temperature),
    pumpOf(inside),
    measured('power', findPower(inside)),
    rigOf(everywhere, post.rigs),
    placeOf(everywhere, humidity.found?.pointer ?? temperature.found?.pointer ?? ''),
  ]
  return {
    recipe: Object.fromEntries(parts.flatMap(({ field }) => Object.entries(field))),
    reasons: parts.flatMap(({ reasons }) => reasons ?? []),
    notes: parts.flatMap(({ notes }) => notes ?? []),
  }
}

function documentOf({ mediaType, text }: PostToPropose): unknown {
  const json = parseJson(text)
  if (json.ok) return typeof json.value === 'object' && json.value !== null ? json.value : undefined
  if (mediaType === 'text/csv' || /^[^\n={[]*,[^\n]*\n./.test(text)) return readCsvRecords(text) ?? undefined
  return /^[^\s=]+=/.test(text) ? (readFormFields(text) ?? undefined) : undefined
}

/** The list in whose records there is air; a list of anything else is not what is meant. */
function listWith(document: unknown): List | null {
  return (
    listsIn(document).find(({ records }) => {
      const leaves = leavesOf(records)
      return findHumidity(leaves).found !== null || findTemperature(leaves).found !== null
    }) ?? null
  )
}

function eachOf(list: List | null): Part {
  if (list === null || list.pointer === '') return NOTHING
  const { pointer, records } = list
  const reason = `a list of ${records.length === 1 ? 'one record' : `${records.length} records`} with the values in them`
  return { field: { each: pointer }, reasons: [{ field: 'each', pointer, reason }] }
}

function measured(name: string, { found, others }: ReturnType<typeof findHumidity>): Part {
  if (found === null) return NOTHING
  const { pointer, unit, reason } = found
  return {
    field: { [name]: { from: pointer, unit } },
    reasons: [{ field: name, pointer, reason }],
    notes: others.map(
      (other) =>
        `There is another ${name} at ${other}. A recipe reads one: give that sensor a source of its own.`,
    ),
  }
}

const TIME =
  /^(?:ts|t|at|time|timestamp|date|datetime|when|epoch|unixtime|utc|dt)$|time$|\bts$|stamp|(?:recorded|measured|sent|read|created|observed) at$/

function timeOf(leaves: readonly Leaf[], receivedS: number): Part {
  for (const leaf of leaves) {
    if (!TIME.test(wordsOf(leaf.name))) continue
    const value = leaf.values.at(-1)
    const [number] = numbersOf(leaf).slice(-1)
    // Numbers before 2000 count something else than the time of day.
    if (number !== undefined && number < 946_684_800) continue
    const instant = readInstant(value)
    if (instant.kind === 'unreadable') continue
    const unit = number === undefined ? 'rfc3339' : number < 1e11 ? 's' : 'ms'
    const { pointer } = leaf
    const field = { at: { from: pointer, unit } }
    const named = `"${leaf.name.slice(0, 40)}" is named like a time, and ${quote(value)}`
    if (instant.kind === 'local') {
      const note = `The times have no zone: add the hub's, such as "zone": "Europe/Lisbon".`
      return {
        field,
        reasons: [{ field: 'at', pointer, reason: `${named} is one, without a zone` }],
        notes: [note],
      }
    }
    const how =
      number === undefined ? 'is one' : `is one in ${unit === 's' ? 'seconds' : 'milliseconds'} since 1970`
    const reasons = [{ field: 'at', pointer, reason: `${named} ${how}` }]
    return withOffset({ field, reasons }, clockAheadS(instant.atS, receivedS))
  }
  return { field: {}, notes: ['There is no time in it: each reading gets the time at which it arrives.'] }
}

function withOffset(part: Part, aheadS: number | null): Part {
  if (aheadS === null) return part
  const reason = `the hub's clock is ${aheadS / 60} minutes ahead of the time at which the post arrived`
  return {
    field: { ...part.field, clockOffsetS: -aheadS },
    reasons: [...(part.reasons ?? []), { field: 'clockOffsetS', pointer: '', reason }],
  }
}

const PUMP = /pump|relay|switch|\bsw\b|outlet|output|plug|socket|motor|\bfan\b/
/** Read without being told. */
const PLAIN = new Set(['on', 'off', 'true', 'false', '1', '0'])
const ON_WORDS = new Set(['running', 'run', 'active', 'started', 'closed', 'yes', 'enabled'])
const OFF_WORDS = new Set([
  'stopped',
  'stop',
  'idle',
  'rest',
  'inactive',
  'open',
  'no',
  'disabled',
  'standby',
])

function pumpOf(leaves: readonly Leaf[]): Part {
  for (const leaf of leaves) {
    if (!PUMP.test(wordsOf(leaf.name))) continue
    const words = [...new Set(leaf.values)]
    const isPlain = words.every((word) => PLAIN.has(String(word).toLowerCase()))
    const on = words.filter((word) => typeof word === 'string' && ON_WORDS.has(word.toLowerCase()))
    const off = words.filter((word) => typeof word === 'string' && OFF_WORDS.has(word.toLowerCase()))
    if (!isPlain && on.length + off.length < words.length) continue
    const { pointer } = leaf
    const reason = `"${leaf.name.slice(0, 40)}" is named like a switch, and ${words.map(quote).join(', ')} says on or off`
    const reasons = [{ field: 'pump', pointer, reason }]
    if (isPlain) return { field: { pump: { from: pointer } }, reasons }
    if (on.length > 0) return { field: { pump: { from: pointer, on } }, reasons }
    const note = `The pump's word for off is ${off.map(quote).join(', ')}; put its word for on under "on".`
    return { field: { pump: { from: pointer, on: ['on'], off } }, reasons, notes: [note] }
  }
  return NOTHING
}

const DEVICE = /\bdev|\bid$|\bname$|\bmac\b|node|sensor|serial|\brig\b|unit name/

/** With several rigs the post has to say which: the device's own name is matched, and the person fills in the others. */
function rigOf(leaves: readonly Leaf[], rigs: readonly string[]): Part {
  const [first] = rigs
  if (rigs.length < 2 || first === undefined) return NOTHING
  const leaf = leaves.find(
    (one) => DEVICE.test(wordsOf(one.name)) && one.values.every((value) => typeof value === 'string'),
  )
  if (leaf === undefined)
    return { field: {}, notes: ['Nothing in it says which rig it is from: name one under "rig".'] }
  const names = [...new Set(leaf.values.map(String))].slice(0, rigs.length)
  const left = rigs.filter((rig) => !names.some((name) => isSame(name, rig)))
  const match = Object.fromEntries(
    names.map((name) => [name, rigs.find((rig) => isSame(name, rig)) ?? left.shift() ?? first]),
  )
  const guessed = names.filter((name) => !rigs.some((rig) => isSame(name, rig)))
  const { pointer } = leaf
  return {
    field: { rig: { from: pointer, match } },
    reasons: [
      { field: 'rig', pointer, reason: `${names.map(quote).join(', ')} looks like the name of a device` },
    ],
    notes:
      guessed.length > 0
        ? [`Which rig ${guessed.map(quote).join(', ')} stands for is a guess: correct it under "rig".`]
        : [],
  }
}

function isSame(name: string, slug: string): boolean {
  return wordsOf(name).replaceAll(' ', '-') === slug
}

const PLACE = /place|position|\bspot\b|location|\bwhere\b/

function placeOf(leaves: readonly Leaf[], chosen: string): Part {
  const leaf = leaves.find(
    (one) =>
      PLACE.test(wordsOf(one.name)) &&
      one.values.every((value) => PLACES.some((place) => place === String(value).toLowerCase())),
  )
  if (leaf !== undefined) {
    const words = [...new Set(leaf.values.map(String))]
    const match = Object.fromEntries(words.map((word) => [word, word.toLowerCase()]))
    const reason = `${words.map(quote).join(', ')} is where a sensor can sit`
    return {
      field: { place: { from: leaf.pointer, match } },
      reasons: [{ field: 'place', pointer: leaf.pointer, reason }],
    }
  }
  const isOutside = /ambient|outside|outdoor|hangar|room/.test(wordsOf(chosen))
  const place = isOutside ? 'ambient' : 'return'
  const reason = isOutside
    ? 'its name speaks of the air around'
    : 'nothing says where the sensor sits: the air that comes back from the engine is assumed'
  return { field: { place }, reasons: [{ field: 'place', pointer: '', reason }] }
}
