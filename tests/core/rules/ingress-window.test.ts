import { expect, test } from 'vitest'
import { saturationDensityGm3, vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import { followAir, startWindow, takeRun } from '../../../src/core/rules/ingress-window.ts'
import { ENDED, HOUR_S, QUIET } from './moment.ts'

/** The water of one run a day and a night after the last, which ended at 6 % in an engine of `fromC`, now of `toC`; g. */
function waterG(fromC: number, toC: number): number {
  const window = startWindow()
  const before = { ...QUIET, metalTempC: fromC }
  followAir(window, before)
  takeRun(window, { ...ENDED, toS: 0 }, before, 20)
  const after = { ...QUIET, metalTempC: toC, isAmbientMeasured: true }
  followAir(window, after)
  const run = { ...ENDED, fromS: 23 * HOUR_S, toS: 24 * HOUR_S }
  const driveGm3 = 1e-3 * 24
  const ingress = takeRun(window, run, after, 20)
  if (ingress === null) throw new Error('no window')
  return ingress.litresPerH * ingress.driveShare * (after.ambientGm3 ?? 0) * driveGm3
}

test('an engine that ends warmer holds more vapour at the same stop, and that was let in too', () => {
  const warmerG = 0.045 * 0.06 * (saturationDensityGm3(20) - saturationDensityGm3(10))
  expect(waterG(10, 20) - waterG(20, 20)).toBeCloseTo(warmerG, 4)
  expect(waterG(20, 10) - waterG(10, 10)).toBeCloseTo(-warmerG, 4)
})

/** What a day's rest let in, 1/h, by runs that began at 15 % in the box and found this in the engine, % RH. */
function climbPerH(enginePct: number | null): number {
  const window = startWindow()
  const moment = { ...QUIET, isAmbientMeasured: true, metalTempC: 15 }
  takeRun(window, { ...ENDED, toS: 0 }, moment, 20)
  followAir(window, moment)
  const engineGm3 = enginePct === null ? null : vapourDensityGm3(enginePct, 15)
  const run = { ...ENDED, fromS: 23 * HOUR_S, toS: 24 * HOUR_S, startPct: 15, peakPct: 15, engineGm3 }
  const ingress = takeRun(window, run, moment, 20)
  if (ingress === null) throw new Error('no window')
  return ingress.climbPerH
}

test('a box that starts the pump by itself does not hide what got into the engine: its air is what the rest let in', () => {
  expect(climbPerH(20) / climbPerH(8)).toBeGreaterThan(5)
  expect(climbPerH(15)).toBeCloseTo(climbPerH(null), 6)
})

test('hangar air that reads zero lets nothing in that could be told', () => {
  const window = startWindow()
  const moment = { ...QUIET, isAmbientMeasured: true, ambientGm3: 0, ambientPct: 0 }
  takeRun(window, { ...ENDED, toS: 0 }, moment, 20)
  followAir(window, moment)
  expect(takeRun(window, { ...ENDED, fromS: 23 * HOUR_S, toS: 24 * HOUR_S }, moment, 20)).toBeNull()
})

/** L/h by the water of one run from a peak of 26 % to 6 %, whose air was so on the mean, % RH. */
function litresPerH(meanPct: number | null): number {
  const window = startWindow()
  const moment = { ...QUIET, isAmbientMeasured: true }
  takeRun(window, { ...ENDED, toS: 0 }, moment, 20)
  followAir(window, moment)
  const inletGm3 = meanPct === null ? null : vapourDensityGm3(meanPct, 15)
  const run = { ...ENDED, fromS: 23 * HOUR_S, toS: 24 * HOUR_S, peakPct: 26, inletGm3 }
  return takeRun(window, run, moment, 20)?.litresPerH ?? Number.NaN
}

test('the peak of a box that leaks is two litres of air: what a run carries out is the mean of all of it', () => {
  // The logarithmic mean of 26 and 6 %.
  expect(litresPerH(20 / Math.log(26 / 6))).toBeCloseTo(litresPerH(null), 2)
  expect(litresPerH(7) / litresPerH(null)).toBeCloseTo(6.5 / (20 / Math.log(26 / 6) - 0.5), 2)
})

/** A run that falls exponentially from 15 % towards a floor until it is at 6 %, k 1 /h; L/h by all of its water, and at the least. */
function overFloor(floorPct: number): { litresPerH: number; leastLPerH: number } {
  const hours = Math.log((15 - floorPct) / (6 - floorPct))
  const meanPct = floorPct + (15 - 6) / hours
  const window = startWindow()
  const moment = { ...QUIET, isAmbientMeasured: true }
  takeRun(window, { ...ENDED, toS: 0 }, moment, 20)
  followAir(window, moment)
  const toS = (20 + hours) * HOUR_S
  const run = { ...ENDED, fromS: 20 * HOUR_S, toS, peakPct: 15, inletGm3: vapourDensityGm3(meanPct, 15) }
  const ingress = takeRun(window, run, moment, 20)
  if (ingress === null) throw new Error('no window')
  return ingress
}

test('used-up beads, or air drawn in before the pump, make longer runs, and no more water over stop than all of it with fresh ones', () => {
  const fresh = overFloor(0)
  // Closed form: over zero it is 15 - 6, and t = ln (15 / 6).
  const hours = Math.log(15 / 6)
  expect(fresh.leastLPerH / fresh.litresPerH).toBeCloseTo((9 - 6 * hours) / (9 - 0.5 * hours), 6)
  for (const floorPct of [1, 3, 5, 5.9]) {
    const ingress = overFloor(floorPct)
    expect(ingress.litresPerH).toBeGreaterThan(fresh.litresPerH)
    // What air of 0.5 % from fresh beads brings back is not in it.
    expect(ingress.leastLPerH).toBeLessThan((fresh.litresPerH * 9) / (9 - 0.5 * hours))
  }
})
