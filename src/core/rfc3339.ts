const DAY_S = 86_400

/** Days from 1970-01-01 to a date of the proleptic Gregorian calendar (Hinnant's days-from-civil). */
export function daysFromCivil(year: number, month: number, day: number): number {
  const y = month <= 2 ? year - 1 : year
  const era = Math.floor(y / 400)
  const yearOfEra = y - era * 400
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + day - 1
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear
  return era * 146_097 + dayOfEra - 719_468
}

const MONTH_DAYS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const

export function daysInMonth(year: number, month: number): number {
  const isLeap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0)
  return month === 2 && isLeap ? 29 : (MONTH_DAYS[month - 1] ?? 0)
}

/** Digits of `text` in [from, to) as a number; NaN if one is no digit. */
function digits(text: string, from: number, to: number): number {
  let value = 0
  for (let index = from; index < to; index++) {
    const digit = text.charCodeAt(index) - 48
    if (!(digit >= 0 && digit <= 9)) return Number.NaN
    value = value * 10 + digit
  }
  return value
}

/** Zone offset at the end of the text, s east of UTC; `null` if it is neither `Z` nor `+hh:mm`. */
function zoneS(text: string, from: number): number | null {
  const mark = text[from]
  if ((mark === 'Z' || mark === 'z') && text.length === from + 1) return 0
  if ((mark !== '+' && mark !== '-') || text.length !== from + 6 || text[from + 3] !== ':') return null
  const hours = digits(text, from + 1, from + 3)
  const minutes = digits(text, from + 4, from + 6)
  if (!(hours <= 23 && minutes <= 59)) return null
  return (mark === '-' ? -1 : 1) * (hours * 3600 + minutes * 60)
}

/**
 * Unix seconds of an RFC 3339 time with a zone (`2026-03-01T06:00:00Z`, `...+01:00`, a fraction is cut); `null` for
 * anything else. A space or `t` may stand for `T`; a leap second counts as the second after.
 */
export function parseTimeS(text: string): number | null {
  if (text.length < 20 || text[4] !== '-' || text[7] !== '-' || text[13] !== ':' || text[16] !== ':')
    return null
  const separator = text[10]
  if (separator !== 'T' && separator !== 't' && separator !== ' ') return null
  const year = digits(text, 0, 4)
  const month = digits(text, 5, 7)
  const day = digits(text, 8, 10)
  const hour = digits(text, 11, 13)
  const minute = digits(text, 14, 16)
  const second = digits(text, 17, 19)
  const isDate = month >= 1 && month <= 12 && day >= 1 && day <= daysInMonth(year, month)
  if (!(isDate && year >= 0 && hour <= 23 && minute <= 59 && second <= 60)) return null
  let from = 19
  if (text[from] === '.') {
    from += 1
    while (from < text.length && digits(text, from, from + 1) >= 0) from += 1
    if (from === 20) return null
  }
  const offsetS = zoneS(text, from)
  return offsetS === null
    ? null
    : daysFromCivil(year, month, day) * DAY_S + hour * 3600 + minute * 60 + second - offsetS
}
