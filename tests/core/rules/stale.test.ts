import { describe, expect, test } from 'vitest'
import { Line, type Step } from './moment.ts'

/** What an alert says while it stands, a day apart. */
function evidences(line: Line, rule: string, days: number, step: Step): unknown[] {
  const seen: unknown[] = []
  for (let day = 0; day < days; day++) {
    line.forHours(24, step)
    const open = line.open.find((alert) => alert.rule === rule)
    seen.push(open === undefined ? null : { ...open.evidence })
  }
  return seen
}

const forecast = (takenG: number) => ({
  takenUpG: { low: takenG, mid: takenG, high: takenG },
  capacityG: { low: 100, mid: 100, high: 100 },
  flightsLeft: null,
  daysLeft: null,
  emptyAtS: null,
  noFlightsUntilS: null,
})

describe('an alert that stands for days says what holds now', () => {
  test('how long a rig has been off after a flight', () => {
    const line = new Line()
    const flownAtS = line.atS
    const idle: Step = { pct: 12, pump: 'rest', with: { flightAtS: flownAtS, unansweredFlightAtS: flownAtS } }
    const hours = evidences(line, 'left-off', 6, idle).map((evidence) => Object(evidence).waitedH)
    expect(hours.map((waitedH, day) => waitedH > 24 * day)).toEqual(Array(6).fill(true))
    expect(line.events.filter(({ event }) => event !== 'over')).toHaveLength(2)
  })

  test('what an open loop has cost the beads', () => {
    const line = new Line({ isAmbientMeasured: true })
    line.forHours(1, { pct: 14, pump: 'rest' })
    const days = [0, 1, 2, 3].map((day) => {
      const [evidence] = evidences(line, 'open-loop', 1, {
        pct: 60,
        pump: 'run',
        with: { forecast: forecast(20 * day) },
      })
      return Object(evidence).daysUntilFull
    })
    expect(days[3]).toBeLessThan(0.7 * days[0])
  })

  test('with the readings of any hour', () => {
    const line = new Line()
    // Never at midnight UTC: the hub is unplugged for the night.
    line.forHours(2, { pct: 14, pump: 'rest' })
    const seen = new Set<unknown>()
    for (let day = 0; day < 5; day++) {
      line.forHours(20, { pct: 16 + day, pump: 'run' })
      seen.add(line.open.find(({ rule }) => rule === 'no-drop')?.evidence['nowPct'])
      line.forHours(4, { with: { isGap: true } })
    }
    expect(seen.size).toBeGreaterThan(3)
  })
})

test('what the plateau hid is told no longer than the plateau lasts', () => {
  const line = new Line({ floorGm3: null })
  const gate = { isOpen: true, openedAtS: line.atS, movedG: 3, budgetG: 40, expectedH: 8 }
  const lack = () => line.memory.unknown.find(({ what }) => what === 'no-drop')?.why
  line.forHours(6, { pct: 92, pump: 'run', with: { wetGate: gate } })
  expect(lack()).toMatch(/^on the wet plateau/u)
  line.forHours(1, { pct: 12, pump: 'rest', with: { wetGate: { ...gate, isOpen: false, openedAtS: null } } })
  expect(lack()).toBeUndefined()
})
