import { expect, test } from 'vitest'
import { saturationDensityGm3 } from '../../../src/core/air/vapour.ts'
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
