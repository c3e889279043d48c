import { describe, expect, test } from 'vitest'
import { demoStartS, STORIES, type Story } from '../../clients/local/demo/stories.ts'
import { advance } from '../../src/core/fold/advance.ts'
import { newMemory } from '../../src/core/fold/memory.ts'
import type { AlertEvent } from '../../src/core/fold/outputs.ts'
import { settingsOfPlan } from '../../src/core/rig/plan.ts'
import { advanceRig, truthOf, type RigOutput } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'

/** The demo has to tell its stories on whatever day and at whatever hour it is started. */
const TOLD_AT = ['2026-11-25T09:30:00Z', '2027-02-10T00:05:00Z', '2027-07-03T18:40:00Z']

/** What must be open at the end, by rule and urgency. */
const EXPECTED: Readonly<Record<string, readonly string[]>> = {
  'qx-bra': [],
  'qx-dun': ['beads-spent visit'],
  'qx-elm': ['no-drop now'],
  'qx-fen': ['wet-after-flight note'],
  'qx-hob': ['silent now'],
}

function tell(story: Story, nowS: number) {
  const plan = story.planFor(nowS)
  const state = startRig(plan)
  const out: RigOutput = { readings: [], log: [] }
  advanceRig(plan, state, nowS, out)
  const log = out.log.toSorted((a, b) => a.atS - b.atS)
  const settings = [{ fromS: plan.startS, settings: settingsOfPlan(plan) }]
  const step = advance(newMemory(plan.startS), { readings: out.readings, log, settings }, nowS - 600)
  return { out, events: step.events, truth: truthOf(plan, state) }
}

function openAt(events: readonly AlertEvent[]): string[] {
  const open = new Map<string, string>()
  for (const { event, rule, urgency, raisedAtS } of events) {
    if (event === 'over') open.delete(`${rule} ${raisedAtS}`)
    else open.set(`${rule} ${raisedAtS}`, `${rule} ${urgency}`)
  }
  return [...open.values()].toSorted()
}

describe.each(TOLD_AT)('told at %s', (at) => {
  const nowS = Date.parse(at) / 1000
  test.each(STORIES)('$name: $about', (story) => {
    const { events, truth, out } = tell(story, nowS)
    expect(openAt(events)).toEqual(EXPECTED[story.slug])
    expect(out.readings[0]?.atS).toBeLessThan(demoStartS(nowS) + 3600)
    // Nearly used up, not gone: the air that leaves the beads is still below the lower limit, or just at it.
    if (story.slug === 'qx-dun') expect(truth.exitPct).toBeLessThan(8)
  })
})

test('slugs, names and hangars are as the API wants them', () => {
  expect(STORIES.map((story) => story.slug)).toEqual(Object.keys(EXPECTED))
  expect(new Set(STORIES.map((story) => story.hangar)).size).toBe(3)
  for (const story of STORIES) expect(story.slug).toBe(story.name.toLowerCase())
})
