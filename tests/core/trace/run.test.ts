import { expect, test } from 'vitest'
import { startRun, takeRunPoint } from '../../../src/core/trace/run.ts'

/** A run whose air reads so, five minutes apart, at 15 degC. */
function runOf(humidities: readonly number[]) {
  const run = startRun({ fromS: 0, basis: 'inferred', startPct: 15, startGm3: 1.9, afterFlight: false })
  humidities.forEach((humidityPct, index) => {
    const point = {
      atS: 300 * (index + 1),
      humidityPct,
      densityGm3: 0.128 * humidityPct,
      tempC: 15,
      scale: 1,
    }
    takeRunPoint(run, { ...point, tolerancePct: 0.5 }, { highPct: 12, lowPct: 7.5 }, false)
  })
  return run
}

const steady = (pct: number, hours: number) => Array.from({ length: 12 * hours }, () => pct)

test('air that gets wet in the course of a run was let in: the run teaches nothing', () => {
  const run = runOf([18, 25, ...steady(24, 2), 75, 60, 30, 10, 6])
  expect(run).toMatchObject({ isOdd: true, topPct: 75, peakPct: 25 })
})

test('a surge, and a warmer afternoon, are parts of a run', () => {
  expect(runOf([18, 40, 30, 20, 10, 6]).isOdd).toBe(false)
  expect(runOf([18, ...steady(12, 2), 16, 12, 8, 6])).toMatchObject({ isOdd: false, topPct: 18 })
})
