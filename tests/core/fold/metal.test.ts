import { expect, test } from 'vitest'
import { startMetal, stepMetal } from '../../../src/core/fold/metal.ts'

const HOUR = 3600
const NOON = 1_767_268_800

/** Metal at 20 degC, then `hours` in which nothing was heard, then a hangar at 0 degC. */
function after(hours: number): number {
  const metal = startMetal()
  for (let atS = NOON; atS <= NOON + HOUR; atS += 300) stepMetal(metal, 20, atS)
  stepMetal(metal, 0, NOON + HOUR + hours * HOUR)
  return metal.tempC ?? Number.NaN
}

test('metal lags the hangar by four hours, heard or not: after a night of silence it is as cold as the hangar', () => {
  expect(after(300 / HOUR)).toBeCloseTo(20 * Math.exp(-300 / HOUR / 4), 6)
  expect(after(9)).toBeCloseTo(20 * Math.exp(-8 / 4), 6)
  expect(after(20)).toBeLessThan(0.2)
})
