/** Which value of a post is the humidity, the temperature, the power, in which unit, and why that is thought. */
import { numbersOf, wordsOf, type Leaf } from './leaves.ts'

/** One mapping of a proposed recipe with its reason, in words for the person who decides. */
export type Mapping = {
  readonly pointer: string
  readonly unit: string
  readonly reason: string
}

type Reading = { readonly unit: string; readonly why: string }

const HUMIDITY = /\bhum|humidity|\brh\b|\brel hum|moist/
const TEMPERATURE = /temp|\btmp\b|\bt\b|deg ?[cf]\b|celsius|fahrenheit|kelvin/
const POWER = /power|watt|\bm?w\b/
/** Named like air, but not the air's own value: a limit, a dew point, an alarm. */
const OTHER =
  /dew|set ?point|target|limit|\bmin\b|\bmax\b|threshold|alarm|offset|\bcpu\b|battery|\bsoc\b|chip/

export const findHumidity = (leaves: readonly Leaf[]) => best(leaves, 'humidity', HUMIDITY, humidityUnit)
export const findTemperature = (leaves: readonly Leaf[]) =>
  best(leaves, 'temperature', TEMPERATURE, temperatureUnit)
export const findPower = (leaves: readonly Leaf[]) => best(leaves, 'power', POWER, powerUnit)

/** The first that fits by name and by value; those named for another place or purpose come last. `others`: the rest. */
function best(
  leaves: readonly Leaf[],
  what: string,
  names: RegExp,
  unitOf: (leaf: Leaf, numbers: readonly number[]) => Reading | null,
): { readonly found: Mapping | null; readonly others: readonly string[] } {
  const fits = leaves.flatMap((leaf) => {
    const words = wordsOf(leaf.name)
    const numbers = numbersOf(leaf)
    if (!names.test(words) || OTHER.test(words) || numbers.length === 0) return []
    const read = unitOf(leaf, numbers)
    if (read === null) return []
    const reason = `"${leaf.name.slice(0, 40)}" is named like ${what}, and ${read.why}`
    return [{ pointer: leaf.pointer, unit: read.unit, reason, isElsewhere: ELSEWHERE.test(words) }]
  })
  const found = fits.find((one) => !one.isElsewhere) ?? fits[0]
  if (found === undefined) return { found: null, others: [] }
  const { pointer, unit, reason } = found
  return {
    found: { pointer, unit, reason },
    others: fits.filter((one) => one !== found).map((one) => one.pointer),
  }
}

/** Not the air that comes back from the engine. */
const ELSEWHERE = /ambient|outside|outdoor|\bout\b|room|hangar|supply|\bexit\b/

function humidityUnit(leaf: Leaf, numbers: readonly number[]): Reading | null {
  const { low, high } = rangeOf(numbers)
  if (low < 0 || high > 105) return null
  const isFraction = high <= 1 && !says(leaf, /%|percent|pct/)
  if (isFraction)
    return { unit: '1', why: `${spoken(numbers)} is a fraction of 1: no rig has ever been below 1 %` }
  return { unit: '%', why: `${spoken(numbers)} lies between 0 and 100 %` }
}

/** What is said counts, if the numbers can be that; else a hangar is 45 degC at the most, and nothing is 200 degF. */
function temperatureUnit(leaf: Leaf, numbers: readonly number[]): Reading | null {
  const { low, high } = rangeOf(numbers)
  const canBe: Readonly<Record<string, boolean>> = {
    degC: low >= -60 && high <= 120,
    degF: low >= -76 && high <= 248,
    K: low >= 213 && high <= 393,
  }
  const said = says(leaf, /\bdeg ?f\b|°f|\bf\b|fahrenheit|tempf/)
    ? 'degF'
    : says(leaf, /\bkelvin\b|\bk\b|tempk/)
      ? 'K'
      : says(leaf, /\bdeg ?c\b|°c|\bc\b|cel|celsius|tempc/)
        ? 'degC'
        : null
  if (said !== null && canBe[said] === true)
    return { unit: said, why: `${IN_WORDS[said] ?? said} is said there; ${spoken(numbers)} can be that` }
  if (high > 200)
    return canBe['K'] === true ? { unit: 'K', why: `${spoken(numbers)} can only be kelvin` } : null
  if (high > 45 && canBe['degF'] === true)
    return { unit: 'degF', why: `${spoken(numbers)} is too warm for a hangar in degrees Celsius: Fahrenheit` }
  return canBe['degC'] === true ? { unit: 'degC', why: `${spoken(numbers)} fits degrees Celsius` } : null
}

const IN_WORDS: Readonly<Record<string, string>> = {
  degC: 'degrees Celsius',
  degF: 'degrees Fahrenheit',
  K: 'kelvin',
}

function powerUnit(leaf: Leaf, numbers: readonly number[]): Reading | null {
  const { low, high } = rangeOf(numbers)
  const isMilli = says(leaf, /\bmw\b|milli/)
  if (low < 0 || high > (isMilli ? 1e7 : 10_000)) return null
  return isMilli
    ? { unit: 'mW', why: `milliwatts are said there: ${spoken(numbers)}` }
    : { unit: 'W', why: `${spoken(numbers)} can be the watts of a small pump` }
}

function says(leaf: Leaf, words: RegExp): boolean {
  return words.test(wordsOf(leaf.name)) || (leaf.unit !== null && words.test(wordsOf(leaf.unit)))
}

function rangeOf(numbers: readonly number[]): { readonly low: number; readonly high: number } {
  return {
    low: numbers.reduce((low, number) => Math.min(low, number), Number.POSITIVE_INFINITY),
    high: numbers.reduce((high, number) => Math.max(high, number), Number.NEGATIVE_INFINITY),
  }
}

/** "41.2", or of several records "9.1 to 12.4". */
function spoken(numbers: readonly number[]): string {
  const { low, high } = rangeOf(numbers)
  return low === high ? shown(low) : `${shown(low)} to ${shown(high)}`
}

function shown(value: number): string {
  return String(Math.round(value * 1000) / 1000)
}
