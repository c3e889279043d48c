import { describe, expect, test } from 'vitest'
import { startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { type Pace, runMembers } from '../../../src/core/beads/forecast.ts'
import {
  gBetweenFlights,
  gPerFlight,
  oneFlightScatter,
  startUptake,
  takeFlightUptake,
  takeUptake,
} from '../../../src/core/beads/uptake.ts'

const DAY_S = 86_400
const START_S = 1_743_465_600

describe('what is left where earlier fills say what the jar holds', () => {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 120 }, { mean: 0, sd: 0.15 })
  const pace: Pace = {
    flightsPerDay: 0.1,
    gPerFlight: 8,
    idleGPerDay: 0.2,
    gBetweenFlights: 10,
    air: { wetShare: 0.6, wetPct: 90, dryPct: 12 },
    bedTempC: 15,
    stopPct: 6,
  }
  const middle = Math.floor(ensemble.weights.length / 2)

  test('a fresh fill holds that, whatever a run forward makes of the season', () => {
    for (const heldG of [60, 90]) {
      for (const bedTempC of [5, 25]) {
        const left = runMembers(ensemble, { ...pace, bedTempC }, { share: 0.9, heldG })
        expect((left.waterG[middle] ?? 0) + (left.takenG[middle] ?? 0)).toBeCloseTo(heldG, 1)
      }
    }
  })

  test('without earlier fills a run forward less the share that the true path loses', () => {
    const whole = runMembers(ensemble, pace, { share: 1, heldG: null })
    const kept = runMembers(ensemble, pace, { share: 0.9, heldG: null })
    const ratio = (kept.waterG[middle] ?? 0) / (whole.waterG[middle] ?? 1)
    expect(ratio).toBeGreaterThan(0.88)
    expect(ratio).toBeLessThan(0.93)
  })
})

/** A rig that flies every ten days: `flightG` in the days after, then `idleG` up to the next. */
function flown(flightsG: readonly number[], idleG: number) {
  const memory = startUptake()
  flightsG.forEach((flightG, index) => {
    takeFlightUptake(memory, START_S + index * 10 * DAY_S)
    takeUptake(memory, flightG, 90)
    // Oil and films give back for longer than the days that count as the flight's.
    takeUptake(memory, idleG, 12)
  })
  return memory
}

describe('water from one flight to the next', () => {
  test('is counted whole, whichever part brought it', () => {
    const memory = flown([8, 12, 8, 12, 8, 12, 8, 12, 8, 12, 8], 4)
    expect(gBetweenFlights(memory, 10)).toBeGreaterThan(13)
    expect(gBetweenFlights(memory, 10)).toBeLessThan(14.2)
  })

  test('before any interval is known it is the flight and the idle days around it', () => {
    const memory = startUptake()
    expect(gBetweenFlights(memory, 14)).toBeCloseTo(gPerFlight(memory) + 14 * 0.3, 6)
  })
})

/** The scatter after whole flights of these grams. */
const closed = (flightsG: readonly number[]) => {
  const memory = startUptake()
  memory.flightCount = flightsG.length
  for (const g of flightsG) {
    memory.flightG += g
    memory.flightSquares += g * g
  }
  return oneFlightScatter(memory)
}

describe('how much flights differ', () => {
  test('is supposed before it is seen, then learned', () => {
    expect(oneFlightScatter(startUptake())).toBe(0.6)
    expect(closed(Array.from({ length: 12 }, () => 8))).toBeLessThan(0.3)
    expect(closed([2, 20, 3, 25, 2, 18, 4, 22, 2, 20, 3, 25])).toBeGreaterThan(0.7)
  })
})
