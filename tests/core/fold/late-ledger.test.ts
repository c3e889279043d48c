import { describe, expect, test } from 'vitest'
import { gPerFlight, idleGPerDay } from '../../../src/core/beads/uptake.ts'
import { advance } from '../../../src/core/fold/advance.ts'
import type { DatedSettings, LogEntry } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import { lookAt } from '../../../src/core/fold/view.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY = 86_400

const at = (day: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS: DAY_ZERO_S + day * DAY,
  what,
  detail,
})

function after(days: number, log: readonly LogEntry[], settings: readonly DatedSettings[]): Memory {
  const readings = sawTooth({ days, noisePct: 0.1 })
  return advance(newMemory(DAY_ZERO_S), { readings, log, settings }, DAY_ZERO_S + days * DAY).memory
}

const late = (day: number): readonly DatedSettings[] => [
  { fromS: 0, settings: { ...SETTINGS, flowLPerMin: null, beadMassG: null } },
  { fromS: DAY_ZERO_S + day * DAY, settings: SETTINGS },
]

const KNOWN = [{ fromS: 0, settings: SETTINGS }]
const forecastAt = (memory: Memory) => lookAt(memory, memory.gridS).forecast

describe('mass and flow stated some days after the bake', () => {
  const bake = at(0.1, 'bake')
  test('the water is counted from there on, and the days before are taken as usual, with doubt', () => {
    const whole = forecastAt(after(40, [bake], KNOWN))
    const told = forecastAt(after(40, [bake], late(20)))
    expect((told?.capacityG?.mid ?? 0) / (whole?.capacityG?.mid ?? 1)).toBeCloseTo(1, 0)
    const [takenUp, counted] = [told?.takenUpG, whole?.takenUpG]
    expect(takenUp?.mid).toBeGreaterThan(counted?.mid ?? 0)
    expect(takenUp?.low).toBeLessThan(counted?.mid ?? 0)
  })

  test('flights of those days count', () => {
    const flights = [3, 10, 17].map((day) => at(day, 'flight'))
    const without = after(21, [bake], late(20)).beads.fill?.idleG ?? 0
    const withFlights = after(21, [bake, ...flights], late(20)).beads.fill?.idleG ?? 0
    expect(withFlights - without).toBeCloseTo(18, 0)
  })

  test('beads that were in use when first seen stay without a forecast', () => {
    expect(forecastAt(after(40, [], late(20)))).toBeNull()
  })
})

const takenUp = (log: readonly LogEntry[]) => forecastAt(after(2, log, KNOWN))?.takenUpG

test('a bake from before the rig was first heard has its days behind it, flights included', () => {
  const fresh = takenUp([at(0, 'bake')])
  const old = takenUp([at(-50, 'bake')])
  const flown = takenUp([at(-50, 'bake'), at(-40, 'flight'), at(-30, 'flight')])
  // At 0.3 g a day and 6 g a flight as long as nothing else is known.
  expect((old?.mid ?? 0) - (fresh?.mid ?? 0)).toBeCloseTo(15, 0)
  expect((flown?.mid ?? 0) - (old?.mid ?? 0)).toBeCloseTo(12, 0)
  expect((old?.high ?? 0) - (old?.low ?? 0)).toBeGreaterThan(20)
})

describe('a flow that is taken back', () => {
  const settings = [
    ...KNOWN,
    { fromS: DAY_ZERO_S + 20 * DAY, settings: { ...SETTINGS, flowLPerMin: null } },
    { fromS: DAY_ZERO_S + 30 * DAY, settings: { ...SETTINGS, flowLPerMin: null, pumpOnW: 2 } },
    { fromS: DAY_ZERO_S + 40 * DAY, settings: SETTINGS },
  ]
  const log = [at(0.1, 'bake'), ...[3, 8, 13, 18].map((day) => at(day, 'flight'))]

  test('leaves no forecast that stands still', () => {
    expect(forecastAt(after(19, log, settings))).not.toBeNull()
    expect(forecastAt(after(35, log, settings))).toBeNull()
  })

  test('and once it is stated again the time between was one as any other', () => {
    const before = forecastAt(after(20, log, KNOWN))?.takenUpG
    const later = forecastAt(after(41, log, settings))?.takenUpG
    // Twenty days, with four flights at that pace.
    expect((later?.mid ?? 0) - (before?.mid ?? 0)).toBeGreaterThan(3)
    expect((later?.mid ?? 0) - (before?.mid ?? 0)).toBeLessThan(40)
    expect((later?.high ?? 0) - (later?.low ?? 0)).toBeGreaterThan((before?.high ?? 0) - (before?.low ?? 0))
  })
})

describe('the pace of a rig', () => {
  const log = [...[5, 15, 25, 35].map((day) => at(day, 'flight')), at(44.9, 'bake')]

  test('is not learned from weeks without a flow: no water was counted in them', () => {
    const { uptake } = after(45, log, late(44.5)).beads
    expect(gPerFlight(uptake)).toBeCloseTo(6, 1)
    expect(idleGPerDay(uptake)).toBeGreaterThan(0.25)
    expect(uptake.intervals).toEqual([10, 10, 10])
  })

  test('is learned without a bake: the first fill begins with it', () => {
    const { uptake } = after(45, log, KNOWN).beads
    expect(uptake.flightCount).toBe(4)
    expect(idleGPerDay(uptake)).toBeLessThan(0.25)
  })
})

test('while it is asked whether beads were changed, nothing is forecast of them', () => {
  const readings = [
    ...sawTooth({ days: 30, floorPct: 5.2, kPerH: 1.2, noisePct: 0.1, ingressPerH: 0.03 }),
    ...sawTooth({
      days: 20,
      floorPct: 1,
      kPerH: 1.2,
      noisePct: 0.1,
      ingressPerH: 0.03,
      from: DAY_ZERO_S + 30 * DAY + 3 * 3600,
    }),
  ]
  const inputs = { readings, log: [at(0.1, 'bake')], settings: KNOWN }
  const { memory } = advance(newMemory(DAY_ZERO_S), inputs, DAY_ZERO_S + 34 * DAY)
  expect(memory.rules.open.map(({ rule }) => rule)).toContain('swapped')
  const view = lookAt(memory, memory.gridS)
  expect(view.forecast).toBeNull()
  expect(view.unknown).toContainEqual({
    what: 'forecast',
    why: 'the beads may have been changed: the logbook has to say',
  })
  const { memory: later } = advance(
    memory,
    { ...inputs, readings: readings.filter(({ atS }) => atS > memory.gridS), log: [] },
    DAY_ZERO_S + 48 * DAY,
  )
  expect(lookAt(later, later.gridS).forecast).not.toBeNull()
})
