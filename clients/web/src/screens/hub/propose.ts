/**
 * A first recipe from a post somebody's hub really sent: by the names of its values, checked against what they can be.
 * A guess, and shown as one: it is tried on the post before it is saved.
 */
import type { Recipe } from '../../shapes.ts'

type Leaf = { pointer: string; name: string; value: unknown }

/** Posts nest a few levels; deeper is somebody's file, not a reading. */
const depthMax = 6
const leavesMax = 200

const numeric = (value: unknown): number | null => {
  const number =
    typeof value === 'number' ? value : typeof value === 'string' && value.trim() !== '' ? Number(value) : NaN
  return Number.isFinite(number) ? number : null
}

export function proposeRecipe(
  post: { body: string; contentType: string | null },
  rigs: string[],
): Recipe | null {
  const parsed = readBody(post)
  const each = listPointer(parsed, '', 0)
  const record = each === null ? parsed : firstOf(parsed, each)
  const leaves = leavesOf(record, '', 0)
  const humidity = leaves.find(
    (leaf) => /hum|^rh$|_rh$|moist/i.test(leaf.name) && numeric(leaf.value) !== null,
  )
  const temperature = leaves.find(
    (leaf) => /temp|tmp|^t$|_t$|degc|degf/i.test(leaf.name) && numeric(leaf.value) !== null,
  )
  if (!humidity && !temperature) return null
  return {
    ...(each === null ? {} : { each }),
    ...(humidity ? { humidity: { from: humidity.pointer, unit: humidityUnit(humidity) } } : {}),
    ...(temperature
      ? { temperature: { from: temperature.pointer, unit: temperatureUnit(temperature) } }
      : {}),
    ...timeOf(leaves),
    ...pumpOf(leaves),
    ...rigOf(leaves, rigs),
    place: 'return',
  }
}

/** JSON, or the names and values of a form; `undefined` for anything else. */
function readBody({ body, contentType }: { body: string; contentType: string | null }): unknown {
  if (contentType?.includes('urlencoded')) return Object.fromEntries(new URLSearchParams(body))
  try {
    return JSON.parse(body)
  } catch {
    return undefined
  }
}

/** The pointer of the first list of objects, if the post is one or holds one. */
function listPointer(value: unknown, pointer: string, depth: number): string | null {
  if (depth > depthMax) return null
  if (Array.isArray(value)) return value.some(isRecord) ? pointer : null
  if (!isRecord(value)) return null
  for (const [name, inner] of Object.entries(value)) {
    const found = listPointer(inner, `${pointer}/${escape(name)}`, depth + 1)
    if (found !== null) return found
  }
  return null
}

function firstOf(value: unknown, pointer: string): unknown {
  const list = pointer
    .split('/')
    .slice(1)
    .reduce<unknown>((inner, step) => (isRecord(inner) ? inner[unescape(step)] : undefined), value)
  return Array.isArray(list) ? list.find(isRecord) : undefined
}

function leavesOf(value: unknown, pointer: string, depth: number): Leaf[] {
  if (!isRecord(value) || depth > depthMax) return []
  return Object.entries(value)
    .flatMap(([name, inner]): Leaf[] => {
      const here = `${pointer}/${escape(name)}`
      return isRecord(inner) ? leavesOf(inner, here, depth + 1) : [{ pointer: here, name, value: inner }]
    })
    .slice(0, leavesMax)
}

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value)
const escape = (step: string): string => step.replaceAll('~', '~0').replaceAll('/', '~1')
const unescape = (step: string): string => step.replaceAll('~1', '/').replaceAll('~0', '~')

/** A humidity of at most 1 is a fraction: no rig has ever been at 1 %. */
function humidityUnit(leaf: Leaf): string {
  return Math.abs(numeric(leaf.value) ?? 0) <= 1 ? '1' : '%'
}

/** Said by the name; else over 45 is no hangar in degC, and over 200 is kelvin. */
function temperatureUnit(leaf: Leaf): string {
  const value = numeric(leaf.value) ?? 0
  if (value > 200) return 'K'
  if (/f$|fahr/i.test(leaf.name.replace(/[^a-z]/gi, ''))) return 'degF'
  return value > 45 ? 'degF' : 'degC'
}

function timeOf(leaves: Leaf[]): Recipe {
  const leaf = leaves.find((one) =>
    /^(ts|t|at|time|timestamp|date|when|epoch|unixtime|dt)$|time$|_ts$/i.test(one.name),
  )
  if (!leaf) return {}
  const number = numeric(leaf.value)
  if (number === null)
    return typeof leaf.value === 'string' && !Number.isNaN(Date.parse(leaf.value))
      ? { at: { from: leaf.pointer, unit: 'rfc3339' } }
      : {}
  if (number < 9e8) return {}
  return { at: { from: leaf.pointer, unit: number < 1e11 ? 's' : 'ms' } }
}

function pumpOf(leaves: Leaf[]): Recipe {
  const on = ['on', 'ON', 1, true]
  const pump = leaves.find(
    (leaf) => /pump|relay|switch|^sw$|outlet|output/i.test(leaf.name) && isSwitch(leaf.value),
  )
  const power = leaves.find((leaf) => /^w$|power|watt/i.test(leaf.name) && numeric(leaf.value) !== null)
  return {
    ...(pump ? { pump: { from: pump.pointer, on } } : {}),
    ...(power ? { power: { from: power.pointer, unit: 'W' } } : {}),
  }
}

function isSwitch(value: unknown): boolean {
  return (
    typeof value === 'boolean' ||
    value === 0 ||
    value === 1 ||
    (typeof value === 'string' && /^(on|off)$/i.test(value))
  )
}

/** With several rigs the post has to say which: the device's own name is matched, and the person fills in the others. */
function rigOf(leaves: Leaf[], rigs: string[]): Recipe {
  const [first] = rigs
  if (rigs.length < 2 || first === undefined) return {}
  const leaf = leaves.find(
    (one) => /dev|id$|name|mac|node|sensor/i.test(one.name) && typeof one.value === 'string',
  )
  return leaf ? { rig: { from: leaf.pointer, match: { [String(leaf.value)]: first } } } : {}
}
