import { describe, expect, test } from 'vitest'
import type { RuleName } from '../../../src/core/fold/outputs.ts'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import { CYCLE, ENDED, HOUR_S, Line, type Step } from './moment.ts'

const HANGAR = {
  isAmbientMeasured: true,
  ambientPct: 62,
  ambientGm3: vapourDensityGm3(62, 15),
  ambientTempC: 15,
}

/** Brings a rule's alert up on a fresh line. */
const RAISE: Partial<Record<RuleName, (line: Line) => void>> = {
  silent: (line) => line.forHours(3, {}),
  'no-drop': (line) => line.forHours(5, { pct: 15, pump: 'run' }),
  'open-loop': (line) => line.forHours(1, { pct: 60, pump: 'run', with: HANGAR }),
  leak: (line) => {
    // A run of an hour a day, twelve times; then one every four hours.
    const runAfter = (hours: number) => {
      line.forHours(hours - 1 / 12, (h) => ({ pct: 10 + (h % 1) }))
      const run = { ...ENDED, fromS: line.atS - HOUR_S, toS: line.atS }
      line.step({ pct: 10, with: { ended: [run] } })
    }
    for (let i = 0; i < 12; i++) runAfter(24)
    for (let i = 0; i < 24; i++) runAfter(4)
  },
  'beads-spent': (line) => {
    const left = { low: 0, mid: 1, high: 3 }
    const forecast = {
      takenUpG: null,
      capacityG: null,
      flightsLeft: left,
      daysLeft: null,
      emptyAtS: null,
      noFlightsUntilS: null,
    }
    line.step({
      pct: 10,
      with: {
        fillFromS: 1,
        forecast,
        beadsOdds: { front: 0.6, isFrontSeen: true, ahead: 0.9, week: 0.6, isProven: false },
      },
    })
  },
}

/** One step that would raise the rule if nothing else were open. */
const WOULD_RAISE: Partial<Record<RuleName, Step>> = {
  'floor-rising': { pct: 10, with: { runTimeRatio: 3, closed: [CYCLE] } },
  'left-off': { pct: 10, with: { unansweredFlightAtS: 1_767_225_600 - 40 * HOUR_S } },
}

test.each<[RuleName, RuleName, boolean]>([
  ['no-drop', 'floor-rising', false],
  ['open-loop', 'floor-rising', false],
  ['leak', 'floor-rising', false],
  ['beads-spent', 'floor-rising', false],
  ['no-drop', 'left-off', true],
  ['leak', 'left-off', true],
  ['open-loop', 'left-off', true],
])('while %s is open, %s is raised: %s', (first, second, isRaised) => {
  const line = new Line()
  line.forHours(5, { pct: 10, pump: 'rest' })
  RAISE[first]?.(line)
  expect(line.isOpen(first)).toBe(true)
  line.step(WOULD_RAISE[second] ?? {})
  expect(line.isOpen(second)).toBe(isRaised)
  expect(line.isOpen(first)).toBe(true)
})

test('what stays quiet while it is explained is raised when the explanation has ended', () => {
  const line = new Line()
  line.forHours(0.2, { pct: 15, pump: 'rest' })
  RAISE['no-drop']?.(line)
  line.step({ pct: 15, pump: 'run', with: { runTimeRatio: 3, closed: [CYCLE] } })
  expect(line.open.map((a) => a.rule)).toEqual(['no-drop'])
  line.forHours(1, (h) => ({ pct: Math.max(6, 15 - 12 * h), pump: 'run' }))
  expect(line.open).toEqual([])
  line.step({ pct: 7, pump: 'rest', with: { closed: [CYCLE] } })
  expect(line.open.map((a) => a.rule)).toEqual(['floor-rising'])
})

test('another fault that was open before waits unchanged under a dead pump', () => {
  const line = new Line()
  line.step({ pct: 14, pump: 'rest' })
  line.step({ pct: 15, pump: 'rest', with: { runTimeRatio: 3, closed: [CYCLE] } })
  RAISE['no-drop']?.(line)
  expect(line.open.map((a) => a.rule)).toEqual(['floor-rising', 'no-drop'])
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(['raised floor-rising', 'raised no-drop'])
})

describe.each(['off', 'salt-check', 'power-off'] as const)('during %s', (suspended) => {
  test('nothing of the loop is judged, and half-finished stretches are forgotten', () => {
    const line = new Line()
    line.forHours(4.4, { pct: 18, pump: 'rest' })
    line.forHours(6, { pct: 18, pump: 'rest', with: { suspended } })
    line.forHours(4.4, { pct: 18, pump: 'rest', with: { suspended: null } })
    expect(line.events).toEqual([])
    line.forHours(0.2, { pct: 18, pump: 'rest' })
    expect(line.open.map((a) => a.rule)).toEqual(['wet-and-idle'])
  })

  test('an open alert stays open', () => {
    const line = new Line()
    line.forHours(5, { pct: 18, pump: 'rest' })
    line.forHours(6, { pct: 9, pump: 'rest', with: { suspended } })
    expect(line.open.map((a) => a.rule)).toEqual(['wet-and-idle'])
  })
})

test('preheat and the day after it say nothing of the pump', () => {
  const line = new Line()
  line.forHours(0.2, { pct: 15, pump: 'rest' })
  line.forHours(20, { pct: 15, pump: 'run', with: { preheatAtS: line.atS } })
  expect(line.isOpen('no-drop')).toBe(false)
})

/** The events of thirty hours with a restart before one of them. */
const story = (restartAt: number): string[] => {
  const line = new Line()
  for (let hour = 0; hour < 30; hour++) {
    if (hour === restartAt) {
      const revived: typeof line.memory = JSON.parse(JSON.stringify(line.memory))
      line.memory = revived
    }
    const isOn = hour % 10 > 5
    for (let i = 0; i < 12; i++)
      line.step({ pct: isOn ? 15 + (i % 2) / 10 : 18, pump: isOn ? 'run' : 'rest' })
  }
  return line.story(0)
}

test('the same moments give the same events, fed with a restart anywhere', () => {
  const whole = story(-1)
  expect(whole.length).toBeGreaterThan(2)
  for (let hour = 0; hour < 30; hour++) expect(story(hour)).toEqual(whole)
})

test('memory stays a few kilobytes, the same after a month as after a week', () => {
  const line = new Line()
  const size = (days: number): number => {
    for (let i = 0; i < days * 288; i++) {
      line.step({
        pct: 10 + 4 * Math.sin(i / 20),
        pump: i % 40 < 8 ? 'run' : 'rest',
        with: i % 40 === 0 ? { closed: [{ ...CYCLE, ingressPerH: 0.02 + (i % 7) / 1000 }] } : {},
      })
    }
    return JSON.stringify(line.memory).length
  }
  const week = size(7)
  const month = size(28)
  expect(month).toBeLessThan(6000)
  expect(month - week).toBeLessThan(1500)
})
