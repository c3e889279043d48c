import { describe, expect, test } from 'vitest'
import { bedOf, bedsOf, memberTakenG, pushEnsemble, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { forecastOf, type Pace, type PaceError, runMembers } from '../../../src/core/beads/forecast.ts'
import {
  arrivalAir,
  gBetweenFlights,
  gPerFlight,
  idleGPerDay,
  oneFlightScatter,
  passUptakeTime,
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
    air: { wetShare: 0.6, wetShareOfAll: 0.4, wetPct: 90, dryPct: 12 },
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

test('beads that air drier than the oven left them has dried have taken up nothing, and no less is left than nothing', () => {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 100 }, { mean: 0, sd: 0.15 })
  const beds = bedsOf(ensemble)
  for (let parcel = 0; parcel < 3000; parcel++)
    pushEnsemble(ensemble, beds, { inGm3: 0, volumeL: 20, tempC: 30 })
  const uptake = startUptake()
  // A fortnight in which they gave more than they took.
  takeFlightUptake(uptake, START_S - 20 * DAY_S)
  passUptakeTime(uptake, START_S, 24 * 14, true)
  takeUptake(uptake, -40, 3)
  const pace: Pace = {
    flightsPerDay: 1 / 14,
    gPerFlight: gPerFlight(uptake),
    idleGPerDay: 1e-3,
    gBetweenFlights: gBetweenFlights(uptake, 14),
    air: arrivalAir(uptake, 10),
    bedTempC: 15,
    stopPct: 6,
  }
  const left = runMembers(ensemble, pace, { share: 0.9, heldG: null })
  const error: PaceError = {
    flightLnSd: 0.3,
    idleLnSd: 0.3,
    everyLnSd: 0.3,
    oneFlightScatter: 0.3,
    ledgerSdG: 0,
    flowLnSd: 0.2,
    countedG: 100,
  }
  const { forecast } = forecastOf(ensemble, left, pace, error, { atS: START_S, isProven: false })
  for (const interval of [forecast.takenUpG, forecast.capacityG, forecast.flightsLeft, forecast.daysLeft]) {
    expect(interval?.low).toBeGreaterThanOrEqual(0)
    expect(interval?.mid).toBeGreaterThanOrEqual(interval?.low ?? 1)
    expect(interval?.high).toBeGreaterThanOrEqual(interval?.mid ?? 1)
  }
  expect(idleGPerDay(uptake)).toBe(0)
})

describe('without flights', () => {
  const error: PaceError = {
    flightLnSd: 0.3,
    idleLnSd: 0.3,
    everyLnSd: 0.6,
    oneFlightScatter: 0.6,
    ledgerSdG: 20,
    countedG: 0,
    flowLnSd: 0.2,
  }
  const pace: Pace = {
    flightsPerDay: 0,
    gPerFlight: 8,
    idleGPerDay: 1,
    gBetweenFlights: 10,
    air: { wetShare: 0.6, wetShareOfAll: 0.4, wetPct: 90, dryPct: 12 },
    bedTempC: 15,
    stopPct: 6,
  }

  test.each([0, 0.01, 0.05, 0.5])('beads are used up no sooner than at %s flights a day', (flightsPerDay) => {
    const ensemble = startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 120 }, { mean: 0, sd: 0.6 })
    const beds = bedsOf(ensemble)
    for (const parcels of [0, 2000, 2000, 2000, 2000]) {
      for (let parcel = 0; parcel < parcels; parcel++)
        pushEnsemble(ensemble, beds, { inGm3: 1.6, volumeL: 15, tempC: 15 })
      const left = runMembers(ensemble, { ...pace, flightsPerDay }, { share: 0.9, heldG: null })
      const now = { atS: START_S, isProven: false }
      const { forecast } = forecastOf(ensemble, left, { ...pace, flightsPerDay }, error, now)
      expect(forecast.noFlightsUntilS).toBeGreaterThanOrEqual(forecast.emptyAtS ?? 0)
      left.idleDays.forEach((days, member) => expect(days).toBeGreaterThanOrEqual(left.days[member] ?? 0))
    }
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

/** What a kilogram without evidence holds at a pace, g. */
function wholeG(pace: Pace): number {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 120 }, { mean: 0, sd: 0.01 })
  const { waterG } = runMembers(ensemble, pace, { share: 1, heldG: null })
  return waterG[Math.floor(waterG.length / 2)] ?? 0
}

describe('in which air the water arrives', () => {
  const pace: Pace = {
    flightsPerDay: 0,
    gPerFlight: 6,
    idleGPerDay: 0.6,
    gBetweenFlights: 6,
    air: { wetShare: 0.75, wetShareOfAll: 0, wetPct: 90, dryPct: 12 },
    bedTempC: 15,
    stopPct: 6,
  }

  test('flights that nobody logs load the beads as logged ones do', () => {
    const leakage = wholeG(pace)
    const logged = wholeG({ ...pace, flightsPerDay: 1 / 14, gPerFlight: 8.4 / 0.75, idleGPerDay: 0.0 })
    const unlogged = wholeG({ ...pace, idleGPerDay: 0.8, air: { ...pace.air, wetShareOfAll: 0.75 } })
    expect(logged).toBeGreaterThan(1.3 * leakage)
    expect(unlogged / logged).toBeGreaterThan(0.93)
    expect(unlogged / logged).toBeLessThan(1.07)
  })

  test('an engine that has not flown yet is taken for one that will, one that leaks for months is not', () => {
    const fresh = arrivalAir(startUptake(), 10)
    const stored = startUptake()
    for (let day = 0; day < 100; day++) takeUptake(stored, 0.5, 12)
    expect(fresh.wetShareOfAll).toBeGreaterThan(0.35)
    expect(arrivalAir(stored, 10).wetShareOfAll).toBeLessThan(0.1)
  })

  test('the first flight counts while it still brings water, if that is more than was thought', () => {
    const memory = startUptake()
    takeFlightUptake(memory, START_S)
    takeUptake(memory, 3, 90)
    const before = gPerFlight(memory)
    takeUptake(memory, 13, 90)
    expect(before).toBe(6)
    expect(gPerFlight(memory)).toBe(11)
  })
})

describe('how far a warning looks ahead', () => {
  const exact: PaceError = {
    flightLnSd: 0.01,
    idleLnSd: 0.01,
    everyLnSd: 0.01,
    oneFlightScatter: 0.01,
    ledgerSdG: 0,
    flowLnSd: 0.01,
    countedG: 100,
  }

  /** Odds of a fill that lasts so many days in all, with this share of its water taken up. */
  function aheadOf(wholeDays: number, goneShare: number, everyDays = 7) {
    const ensemble = startEnsemble({ kind: 'regular-gel', massG: 500, bakeTempC: 120 }, { mean: 0, sd: 0.01 })
    const path = { share: 1, heldG: null }
    const pace = (gPerDay: number): Pace => ({
      flightsPerDay: 1 / everyDays,
      gPerFlight: 0.7 * gPerDay * everyDays,
      idleGPerDay: 0.3 * gPerDay,
      gBetweenFlights: gPerDay * everyDays,
      air: { wetShare: 0.75, wetShareOfAll: 0.5, wetPct: 90, dryPct: 12 },
      bedTempC: 15,
      stopPct: 6,
    })
    let gPerDay = 1
    for (let round = 0; round < 8; round++) {
      const { days } = runMembers(ensemble, pace(gPerDay), path)
      gPerDay *= (days[Math.floor(days.length / 2)] ?? 1) / wholeDays
    }
    const now = pace(gPerDay)
    const middle = Math.floor(ensemble.weights.length / 2)
    const beds = bedsOf(ensemble)
    const freshG = runMembers(ensemble, now, path).waterG[middle] ?? 0
    const takenG = () => memberTakenG(ensemble, middle, bedOf(ensemble, middle))
    while (takenG() < goneShare * freshG) pushEnsemble(ensemble, beds, { inGm3: 8, volumeL: 20, tempC: 15 })
    const left = runMembers(ensemble, now, path)
    return forecastOf(ensemble, left, now, exact, { atS: START_S, isProven: true }).odds.ahead
  }

  test('a week, a flight and a quarter of the fill: with less left it is time', () => {
    expect(aheadOf(60, 0.3)).toBeLessThan(0.2)
    expect(aheadOf(60, 0.8)).toBeGreaterThan(0.6)
  })

  test('whatever a fill lasts, nobody is sent before half of it is gone', () => {
    for (const wholeDays of [10, 15, 24]) {
      expect(aheadOf(wholeDays, 0, 2)).toBeLessThan(0.2)
      expect(aheadOf(wholeDays, 0.3, 2)).toBeLessThan(0.2)
      expect(aheadOf(wholeDays, 0.75, 2)).toBeGreaterThan(0.8)
    }
  })
})
