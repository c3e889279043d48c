import { expect, test } from 'vitest'
import { saturationDensityGm3, vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import { type Ambient, readAsPct } from '../../../src/core/fold/ambient.ts'

const STATED: Ambient = {
  densityGm3: vapourDensityGm3(65, 13),
  humidityPct: 65,
  tempC: null,
  isMeasured: false,
}

test.each([
  ['in a warm spell the stated humidity at its temperature', 28, 28, 65],
  [
    'less in a box that the pump has warmed',
    28,
    31,
    (65 * saturationDensityGm3(28)) / saturationDensityGm3(31),
  ],
  ['at night the vapour of the day', 8, 8, (100 * vapourDensityGm3(65, 13)) / saturationDensityGm3(8)],
  ['in a cold night no more than saturation', 4, 4, 100],
  ['as it is where the sensor has no temperature', 4, null, 65],
])('stated hangar air is read as %s', (_, hangarC, tempC, pct) => {
  expect(readAsPct(STATED, hangarC, tempC)).toBeCloseTo(pct, 1)
})

test('measured air is taken as measured', () => {
  const measured = { ...STATED, tempC: 8, isMeasured: true, densityGm3: vapourDensityGm3(65, 8) }
  expect(readAsPct(measured, 8, 8)).toBeCloseTo(65, 1)
})
