/** Times at the edge: RFC 3339 outside, Unix seconds inside. */
import { timeText } from '../../flows/time-text.ts'

export function timeOf(atS: number): string {
  return timeText(atS)
}

export function timeOrNull(atS: number | null): string | null {
  return atS === null ? null : timeOf(atS)
}

/** The schema has checked the form; whole seconds. */
export function secondsOf(time: string): number {
  return Math.floor(Date.parse(time) / 1000)
}
