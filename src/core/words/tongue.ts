/** How numbers and times are said to one person: their time zone, their unit of temperature. */
export type Tongue = {
  /** IANA name, as "Europe/Lisbon". A name that the platform does not know is read as UTC, and said so. */
  readonly zone: string
  readonly tempUnit: 'degC' | 'degF'
}

export const PLAIN: Tongue = { zone: 'UTC', tempUnit: 'degC' }

const DAY_S = 86_400
/** Day before month and the month as a word: cannot be misread anywhere. */
const LOCALE = 'en-GB'
/** More zones than there are; a cache that cannot grow with what people type. */
const FORMATS_MAX = 512

type Formats = {
  readonly clock: Intl.DateTimeFormat
  readonly weekday: Intl.DateTimeFormat
  readonly day: Intl.DateTimeFormat
  readonly dayYear: Intl.DateTimeFormat
  readonly month: Intl.DateTimeFormat
  readonly numbers: Intl.DateTimeFormat
  /** Said after a clock time where the zone was not known. */
  readonly suffix: string
}

const known = new Map<string, Formats>()

function make(timeZone: string, suffix: string): Formats {
  const of = (options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat =>
    new Intl.DateTimeFormat(LOCALE, { ...options, timeZone })
  return {
    clock: of({ hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }),
    weekday: of({ weekday: 'short' }),
    day: of({ day: 'numeric', month: 'long' }),
    dayYear: of({ day: 'numeric', month: 'long', year: 'numeric' }),
    month: of({ month: 'long' }),
    numbers: of({ year: 'numeric', month: 'numeric', day: 'numeric' }),
    suffix,
  }
}

function formatsOf(zone: string): Formats {
  const found = known.get(zone)
  if (found !== undefined) return found
  let made: Formats
  try {
    made = make(zone, '')
  } catch {
    made = make('UTC', ' UTC')
  }
  if (known.size >= FORMATS_MAX) known.clear()
  known.set(zone, made)
  return made
}

type Day = { readonly year: number; readonly month: number; readonly day: number; readonly number: number }

/** The calendar day in the person's zone; `number` counts days so that two can be compared. */
function dayOf(atS: number, formats: Formats): Day {
  const parts = formats.numbers.formatToParts(atS * 1000)
  const part = (type: string): number => Number(parts.find((p) => p.type === type)?.value ?? 0)
  const year = part('year')
  const month = part('month')
  const day = part('day')
  // Days since 1 March of year 0, so that the leap day comes last.
  const y = month > 2 ? year : year - 1
  const shifted = (month + 9) % 12
  const dayNumber =
    365 * y +
    Math.floor(y / 4) -
    Math.floor(y / 100) +
    Math.floor(y / 400) +
    Math.floor((153 * shifted + 2) / 5) +
    day
  return { year, month, day, number: dayNumber }
}

/** "06:10" */
export function clock(atS: number, tongue: Tongue): string {
  const formats = formatsOf(tongue.zone)
  return formats.clock.format(atS * 1000) + formats.suffix
}

/** "22:10" on the same day or the evening before, "Mon 16:40" within six days, "14 November", "14 November 2024". */
export function moment(atS: number, tongue: Tongue, nowS: number): string {
  const formats = formatsOf(tongue.zone)
  const then = dayOf(atS, formats)
  const now = dayOf(nowS, formats)
  const time = clock(atS, tongue)
  const isLastNight = now.number - then.number === 1 && nowS - atS < DAY_S / 2
  if (then.number === now.number || isLastNight) return time
  if (Math.abs(now.number - then.number) < 7) return `${formats.weekday.format(atS * 1000)} ${time}`
  return date(atS, tongue, nowS)
}

/** "14 December"; with the year if it is not the one we are in. */
export function date(atS: number, tongue: Tongue, nowS: number): string {
  const formats = formatsOf(tongue.zone)
  const isSameYear = dayOf(atS, formats).year === dayOf(nowS, formats).year
  const isNear = Math.abs(atS - nowS) < 120 * DAY_S
  return (isSameYear || isNear ? formats.day : formats.dayYear).format(atS * 1000)
}

/** "late November", "January", "March 2028": a date that is not known to the day. */
export function roughDate(atS: number, tongue: Tongue, nowS: number): string {
  const formats = formatsOf(tongue.zone)
  const then = dayOf(atS, formats)
  const month = formats.month.format(atS * 1000)
  const days = Math.abs(atS - nowS) / DAY_S
  if (days > 300) return `${month} ${then.year}`
  if (days > 60) return month
  if (then.day <= 10) return `early ${month}`
  return then.day <= 20 ? `mid ${month}` : `late ${month}`
}

/** "40 minutes", "20 hours", "3 days", "5 months". */
export function span(hours: number): string {
  const minutes = Math.round(hours * 60)
  if (minutes < 100) return plural(Math.max(0, minutes), 'minute')
  if (hours < 48) return plural(Math.round(hours), 'hour')
  const days = hours / 24
  if (days < 90) return plural(Math.round(days), 'day')
  return days < 700 ? plural(Math.round(days / 30.4), 'month') : plural(Math.round(days / 365), 'year')
}

export function plural(count: number, one: string): string {
  return `${count} ${one}${count === 1 ? '' : 's'}`
}

/** "9 %", "15.2 %": one decimal under 20, none above. */
export function pct(value: number): string {
  return `${number(value, value < 20 ? 1 : 0)} %`
}

/** "18 °C" or "64 °F". */
export function temp(tempC: number, tongue: Tongue): string {
  return tongue.tempUnit === 'degF' ? `${number(tempC * 1.8 + 32, 0)} °F` : `${number(tempC, 0)} °C`
}

/** "0.4 g", "61 g", "210 g" */
export function grams(value: number): string {
  return `${number(value, value < 10 ? 1 : 0)} g`
}

/** At most `digits` decimals, none that are zero, no minus before a zero. */
export function number(value: number, digits: number): string {
  const rounded = Number(value.toFixed(digits))
  return String(rounded === 0 ? 0 : rounded)
}
