/**
 * The values by which a recipe says on and off. A form and a CSV line know text alone, and hubs change the case of their
 * words with an update: values are compared as words.
 */

/** What a scalar says, as a word: 1, "1" and "1.0" are one, so are true and "True"; `null` for what is no scalar. */
export function pumpWord(value: unknown): string | null {
  if (typeof value !== 'string' && typeof value !== 'number' && typeof value !== 'boolean') return null
  const word = String(value).trim().toLowerCase()
  return PLAIN_NUMBER.test(word) ? String(Number(word)) : word
}

const PLAIN_NUMBER = /^[+-]?\d{1,15}(?:\.\d{1,15})?$/

/** `null` if something in the list is no scalar: it could never be met. */
export function pumpWordsOf(values: readonly unknown[]): ReadonlySet<string> | null {
  const words = values.map(pumpWord)
  return words.includes(null) ? null : new Set(words.filter((word) => word !== null))
}
