import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
/** After an outage. */
const HEARD_S = DAY_ZERO_S + DAYS * 24 * HOUR + 2 * HOUR

/** The box climbs to `start`, and is at `toPct` in the next reading; no report of the pump. */
function climbAndFall(toPct: number): Reading[] {
  return Array.from({ length: 60 }, (_, index) => ({
    atS: HEARD_S + 300 * (index + 1),
    place: 'return' as const,
    humidityPct: index < 48 ? 8 + (6.5 * index) / 48 : toPct,
    tempC: 15,
    pumpOn: null,
    powerW: null,
  }))
}

function memoryAfter(last: readonly Reading[], volumeL = 45, log: readonly LogEntry[] = []): Memory {
  const settings = [{ fromS: 0, settings: { ...SETTINGS, volumeL } }]
  const readings = [...sawTooth({ days: DAYS, noisePct: 0.1, basis: 'inferred' }), ...last]
  const { memory } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, HEARD_S + 5 * HOUR)
  expect(memory.run).toBeNull()
  return memory
}

/** A preheat may have wetted the engine. */
const PREHEAT = { atS: HEARD_S + 60, what: 'preheat', detail: {} }

const isEligibleAfter = (toPct: number, volumeL: number) =>
  memoryAfter(climbAndFall(toPct), volumeL, [PREHEAT]).gate.eligibleFromS !== null

test('air that came down the band between two readings was dried by a run, and what may have wetted a small engine before is over', () => {
  expect(isEligibleAfter(7, 12)).toBe(false)
  expect(isEligibleAfter(12, 12)).toBe(true)
  // In five minutes the pump moves 12 L.
  expect(isEligibleAfter(7, 45)).toBe(true)
})

test('the run that nobody saw is in the books: from the last high reading to the low one, no longer than the rig takes', () => {
  const memory = memoryAfter(climbAndFall(7))
  const ran = memory.finished?.cycle
  expect(ran).toMatchObject({ basis: 'inferred', endPct: 7, runToS: HEARD_S + 49 * 300 })
  expect(ran?.startPct).toBeCloseTo(14.4, 1)
  expect(ran?.runMin).toBeGreaterThan(0)
  expect(ran?.runMin).toBeLessThanOrEqual(5)
  expect(ran?.waterG).toBeGreaterThan(0)
  expect(memory.pump.sinceS).toBe(ran?.runToS)
  // It says nothing of how long runs have become.
  const before = memoryAfter(climbAndFall(12))
  expect(memory.runTime.last).toEqual(before.runTime.last)
  expect(before.finished).toBeNull()
})

/** The same with another reading at `index`. */
function withPct(readings: Reading[], index: number, humidityPct: number): Reading[] {
  const reading = readings[index]
  return reading === undefined ? readings : readings.with(index, { ...reading, humidityPct })
}

test('one low reading is a glitch, and a run that was seen is not counted again', () => {
  expect(memoryAfter(withPct(climbAndFall(14.5), 48, 7)).finished).toBeNull()
  const { finished, totals } = memoryAfter(withPct(climbAndFall(6), 47, 15.2))
  expect(finished?.cycle.runFromS).toBe(HEARD_S + 48 * 300)
  expect(totals.cycles).toBe(memoryAfter(climbAndFall(12)).totals.cycles)
})

test('it begins at a whole second', () => {
  // From 12.9 % down to 8.2 % takes this rig a part of the quarter of an hour between two posts.
  const readings = climbAndFall(8.2)
    .slice(0, 56)
    .map((reading, index) => {
      const humidityPct = index < 48 ? (reading.humidityPct ?? 0) - 1.5 : 8.2
      return Object.assign({}, reading, { humidityPct, atS: reading.atS + (index < 48 ? 0 : 600) })
    })
  const ran = memoryAfter(readings).finished?.cycle
  expect(ran?.runMin).toBeLessThan(15)
  expect(Number.isInteger(ran?.runFromS)).toBe(true)
})
