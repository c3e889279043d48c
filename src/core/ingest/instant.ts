/** Reading instants without a clock: RFC 3339 and Unix numbers to whole seconds. */
import { daysFromCivil, daysInMonth, parseTimeS } from '../rfc3339.ts'

/** Unix numbers under this are seconds, else milliseconds: 1e11 s is the year 5138, 1e11 ms is 1973. */
const MILLISECONDS_FROM = 1e11

export type Instant =
  | { readonly kind: 'instant'; readonly atS: number }
  /** A date and time of day without a zone: seconds as if it were UTC. */
  | { readonly kind: 'local'; readonly localS: number }
  | { readonly kind: 'unreadable' }

const UNREADABLE: Instant = { kind: 'unreadable' }
const TIMESTAMP =
  /^(\d{4})-(\d\d)-(\d\d)[Tt ](\d\d):(\d\d)(?::(\d\d)(?:[.,]\d{1,12})?)?\s?([Zz]|[+-]\d\d:?\d\d)?$/
const NUMBER = /^[+-]?\d{1,16}(?:\.\d{1,12})?$/

/** `value` is a number or text from a post. Fractions are cut, towards the past. */
export function readInstant(value: unknown): Instant {
  if (typeof value === 'number') return fromNumber(value)
  if (typeof value !== 'string') return UNREADABLE
  // Nearly every hub sends a time with a zone: read by its characters, a quarter of the cost of the pattern below.
  const plainS = parseTimeS(value)
  if (plainS !== null) return { kind: 'instant', atS: plainS }
  const text = value.trim()
  return NUMBER.test(text) ? fromNumber(Number(text)) : readTimestamp(text)
}

function fromNumber(value: number): Instant {
  if (!Number.isFinite(value)) return UNREADABLE
  const atS = Math.floor(Math.abs(value) < MILLISECONDS_FROM ? value : value / 1000)
  return Number.isSafeInteger(atS) ? { kind: 'instant', atS } : UNREADABLE
}

/** RFC 3339 section 5.6; seconds may be left out, a space may stand for the T. 24:00 and leap seconds as ISO 8601. */
export function readTimestamp(text: string): Instant {
  const parts = TIMESTAMP.exec(text)
  if (parts === null) return UNREADABLE
  const [year, month, day, hour, minute, second] = [1, 2, 3, 4, 5, 6].map((part) => Number(parts[part] ?? 0))
  if (year === undefined || month === undefined || day === undefined) return UNREADABLE
  if (hour === undefined || minute === undefined || second === undefined) return UNREADABLE
  if (month < 1 || month > 12 || day < 1 || day > daysInMonth(year, month)) return UNREADABLE
  if (hour > 24 || minute > 59 || second > 60 || (hour === 24 && minute + second > 0)) return UNREADABLE
  const localS = daysFromCivil(year, month, day) * 86_400 + hour * 3600 + minute * 60 + second
  const zone = parts[7]
  if (zone === undefined) return { kind: 'local', localS }
  const offsetS = readOffsetS(zone)
  return offsetS === null ? UNREADABLE : { kind: 'instant', atS: localS - offsetS }
}

function readOffsetS(zone: string): number | null {
  if (zone === 'Z' || zone === 'z') return 0
  const hours = Number(zone.slice(1, 3))
  const minutes = Number(zone.slice(-2))
  if (hours > 23 || minutes > 59) return null
  return (zone.startsWith('-') ? -1 : 1) * (hours * 3600 + minutes * 60)
}

/** RFC 3339, UTC, whole seconds. `atS` from year 0 to 9999. */
export function timestampText(atS: number): string {
  const days = Math.floor(atS / 86_400)
  const secondOfDay = atS - days * 86_400
  const { year, month, day } = civilFromDays(days)
  const time = [Math.floor(secondOfDay / 3600), Math.floor((secondOfDay % 3600) / 60), secondOfDay % 60]
  return `${String(year).padStart(4, '0')}-${twoDigits(month)}-${twoDigits(day)}T${time.map(twoDigits).join(':')}Z`
}

export function civilFromDays(days: number): { year: number; month: number; day: number } {
  const shifted = days + 719_468
  const era = Math.floor(shifted / 146_097)
  const dayOfEra = shifted - era * 146_097
  const yearOfEra = Math.floor(
    (dayOfEra -
      Math.floor(dayOfEra / 1460) +
      Math.floor(dayOfEra / 36_524) -
      Math.floor(dayOfEra / 146_096)) /
      365,
  )
  const dayOfYear = dayOfEra - (365 * yearOfEra + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100))
  const shiftedMonth = Math.floor((5 * dayOfYear + 2) / 153)
  const month = shiftedMonth < 10 ? shiftedMonth + 3 : shiftedMonth - 9
  const day = dayOfYear - Math.floor((153 * shiftedMonth + 2) / 5) + 1
  return { year: yearOfEra + era * 400 + (month <= 2 ? 1 : 0), month, day }
}

function twoDigits(value: number): string {
  return String(value).padStart(2, '0')
}
