import * as fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { humidityRatio, standardPressurePa } from '../../../src/core/air/ambient-pressure.ts'
import { dewPointC, frostPointC } from '../../../src/core/air/dew-point.ts'
import {
  saturationPressureOverIcePa,
  saturationPressureOverWaterPa,
} from '../../../src/core/air/saturation.ts'
import { humidityPctOfDensity, vapourDensityGm3 } from '../../../src/core/air/vapour.ts'

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true })

describe('inversions', () => {
  test('the dew point is the exact inverse over the whole range', () => {
    fc.assert(
      fc.property(number(-99.9, 124.9), (tempC) => {
        expect(dewPointC(saturationPressureOverWaterPa(tempC))).toBeCloseTo(tempC, 7)
      }),
    )
  })

  test('the frost point is the exact inverse below the triple point', () => {
    fc.assert(
      fc.property(number(-99.9, 0.0099), (tempC) => {
        expect(frostPointC(saturationPressureOverIcePa(tempC))).toBeCloseTo(tempC, 7)
      }),
    )
  })

  test('nor does a start that is the answer already lead away from it', () => {
    // Where the curve of the start value crosses the ice's: one in five hundred of all frost points.
    for (let tempC = -39.56; tempC < -39.5; tempC += 1e-5)
      expect(frostPointC(saturationPressureOverIcePa(tempC))).toBeCloseTo(tempC, 7)
  })

  test('humidity comes back from its density', () => {
    fc.assert(
      fc.property(number(0, 100), number(-60, 120), (humidityPct, tempC) => {
        expect(humidityPctOfDensity(vapourDensityGm3(humidityPct, tempC), tempC)).toBeCloseTo(humidityPct, 9)
      }),
    )
  })

  test('below freezing the frost point lies above the dew point', () => {
    fc.assert(
      fc.property(number(0.01, 600), (pressurePa) => {
        expect(frostPointC(pressurePa) ?? -999).toBeGreaterThan(dewPointC(pressurePa) ?? 999)
      }),
    )
  })
})

describe('edges', () => {
  test.each([-100.1, 125.1, Number.NaN, Number.POSITIVE_INFINITY])('%d degC is refused', (tempC) => {
    expect(() => saturationPressureOverWaterPa(tempC)).toThrow(RangeError)
    expect(() => saturationPressureOverIcePa(tempC)).toThrow(RangeError)
  })

  test('there is no ice above the triple point', () => {
    expect(() => saturationPressureOverIcePa(0.02)).toThrow('no ice')
    expect(frostPointC(612)).toBeNull()
  })

  test.each([0, -1, Number.NaN, 1e9])('a pressure of %d Pa has no dew point', (pressurePa) => {
    expect(dewPointC(pressurePa)).toBeNull()
    expect(frostPointC(pressurePa)).toBeNull()
  })

  test('pressure and ratio refuse nonsense', () => {
    expect(() => standardPressurePa(12_000)).toThrow(RangeError)
    expect(() => humidityRatio(101_325, 101_325)).toThrow(RangeError)
    expect(() => humidityRatio(-1, 101_325)).toThrow(RangeError)
  })
})
