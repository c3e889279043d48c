import type { LogEntry } from './inputs.ts'

/** A number from a logbook entry's detail; `null` if missing or no number. A decimal comma is read as a point. */
export function detailNumber(entry: LogEntry, name: string): number | null {
  const text = entry.detail[name]?.trim().replace(',', '.')
  if (text === undefined || text === '') return null
  const value = Number(text)
  return Number.isFinite(value) ? value : null
}
