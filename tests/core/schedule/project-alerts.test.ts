import { expect, test } from 'vitest'
import type { AlertEvent } from '../../../src/core/fold/outputs.ts'
import { projectForward, projectPast } from '../../../src/core/schedule/project-alerts.ts'

const alert = { rule: 'no-drop', urgency: 'now', sinceS: 900, raisedAtS: 1200, evidence: {} } as const
const over: AlertEvent = { ...alert, atS: 3000, event: 'over' }

test('in a rewind, the end of an alert that was told is news of the time at which it became known', () => {
  const { alerts, events } = projectPast([over], [alert], 9000)
  // Told at 6000, say: an end dated 3000 would look older than what it ends.
  expect(events).toEqual([{ ...over, atS: 9000, isPast: false }])
  expect(alerts).toMatchObject([{ raisedAtS: 1200, overAtS: 3000 }])
})

test('in a rewind, what began and ended in the past is recorded and is no news', () => {
  const raised: AlertEvent = { ...alert, atS: 1200, event: 'raised' }
  const { events } = projectPast([raised, over], [], 9000)
  expect(events).toEqual([
    { ...raised, isPast: true },
    { ...over, isPast: true },
  ])
})

test('going forward, an alert that stands is written when its numbers are new, and makes no event', () => {
  const renewed = { ...alert, evidence: { nowPct: 27 } }
  const same = projectForward([], { before: [alert], after: [{ ...alert, evidence: {} }] })
  expect(same).toEqual({ alerts: [], events: [] })
  const { alerts, events } = projectForward([], { before: [alert], after: [renewed] })
  expect(alerts).toMatchObject([{ raisedAtS: 1200, evidence: { nowPct: 27 }, overAtS: null, isRise: false }])
  expect(events).toEqual([])
})
