/** Numbers as people type them, with a comma or a point. */

/** `null` when it is none. */
export function readNumber(text: string): number | null {
  const cleaned = text.trim().replace(',', '.').replace('\u2212', '-')
  if (cleaned === '') return null
  const value = Number(cleaned)
  return Number.isFinite(value) ? value : null
}

/** What is wrong with what was typed as a number, or `null`. Nothing typed is nothing wrong. */
export function numberWrong(text: string, unit: string): string | null {
  return text.trim() === '' || readNumber(text) !== null ? null : `Only a number here, in\u00a0${unit}.`
}

export function neededNumberWrong(text: string, unit: string): string | null {
  return text.trim() === '' ? 'This is needed.' : numberWrong(text, unit)
}
