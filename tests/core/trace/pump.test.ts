import { expect, test } from 'vitest'
import { inferPump, startPump, takePower, usualPowerW } from '../../../src/core/trace/pump.ts'

test('a motor that has stopped is not taken for its usual power within hours, another pump within days', () => {
  const pump = startPump()
  for (let i = 0; i < 100; i++) takePower(pump, 4, true)
  for (let i = 0; i < 180; i++) takePower(pump, 0.5, true)
  expect(usualPowerW(pump)).toBeGreaterThan(3)
  for (let i = 0; i < 3 * 1440; i++) takePower(pump, 1, true)
  expect(usualPowerW(pump)).toBeCloseTo(1, 1)
})

/** When an inferred run of a band from 8 to 15 % is told to have ended, min; readings ten minutes apart, the first at `start`. */
function endedMin(humidities: readonly number[], stepPct: number): number | null {
  const pump = startPump()
  const limits = { startPct: 15, stopPct: 8, sigmaPct: 0.3, stepPct }
  const told = humidities.map((humidityPct, index) =>
    inferPump(pump, { ...limits, atS: 600 * index, humidityPct }),
  )
  return pump.inferred === 'run' ? null : (told.findLast((atS) => atS !== null) ?? 0) / 60
}

test('air that came within a step of stop and gets no lower for an hour was at it between two readings', () => {
  expect(endedMin([15, 12, 9, 9, 10, 10, 9, 10, 9, 10, 10], 1)).toBe(30)
  expect(endedMin([15, 12, 8.5, 8.8, 8.7, 8.9, 9, 9, 9.1, 9.2], 0.1)).toBe(20)
})

test('air that is still falling, or stands higher up, is no end', () => {
  expect(endedMin([15, 13, 11, 10, 9.5, 9.2, 9, 8.9, 8.8, 8.7, 8.6, 8.5], 0.1)).toBeNull()
  expect(endedMin([15, 13, 11, ...Array<number>(20).fill(11.2)], 0.1)).toBeNull()
})
