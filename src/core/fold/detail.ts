import { enteredNumber } from '../logbook/entered-number.ts'
import type { LogEntry } from './inputs.ts'

/** A number from a logbook entry's detail; `null` if missing or no number. A decimal comma is read as a point. */
export function detailNumber(entry: LogEntry, name: string): number | null {
  const text = entry.detail[name]
  return text === undefined ? null : enteredNumber(text)
}
