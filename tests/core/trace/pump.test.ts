import { expect, test } from 'vitest'
import { startPump, takePower, usualPowerW } from '../../../src/core/trace/pump.ts'

test('a motor that has stopped is not taken for its usual power within hours, another pump within days', () => {
  const pump = startPump()
  for (let i = 0; i < 100; i++) takePower(pump, 4, true)
  for (let i = 0; i < 180; i++) takePower(pump, 0.5, true)
  expect(usualPowerW(pump)).toBeGreaterThan(3)
  for (let i = 0; i < 3 * 1440; i++) takePower(pump, 1, true)
  expect(usualPowerW(pump)).toBeCloseTo(1, 1)
})
