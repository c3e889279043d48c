/** No hexadecimal, no "Infinity", no empty text: what people write as a number, with a decimal comma or point. */
const NUMBER = /^[+-]?(?:\d+[.,]?\d*|[.,]\d+)(?:[eE][+-]?\d{1,3})?$/

/** A number as somebody has entered it; `null` if it is none. */
export function enteredNumber(text: string): number | null {
  const trimmed = text.trim()
  if (!NUMBER.test(trimmed)) return null
  const value = Number(trimmed.replace(',', '.'))
  return Number.isFinite(value) ? value : null
}
