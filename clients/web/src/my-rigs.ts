import { me } from './session.ts'
import type { Alert } from './shapes.ts'

export const myHangars = (): { id: string; name: string }[] => me.value?.hangars ?? []

/** Most urgent first, then the longest standing. */
export function byUrgency(a: Alert, b: Alert): number {
  const order = { now: 0, visit: 1, note: 2 }
  return order[a.urgency] - order[b.urgency] || a.since.localeCompare(b.since)
}
