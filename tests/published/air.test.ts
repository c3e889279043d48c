import psychrolib from 'psychrolib'
import { beforeAll, describe, expect, test } from 'vitest'
import { humidityRatio, standardPressurePa } from '../../src/core/air/ambient-pressure.ts'
import { dewPointC, frostPointC } from '../../src/core/air/dew-point.ts'
import { saturationPressureOverIcePa, saturationPressureOverWaterPa } from '../../src/core/air/saturation.ts'
import {
  humidityPctOfDensity,
  saturationDensityGm3,
  vapourDensityGm3,
  vapourPressurePa,
} from '../../src/core/air/vapour.ts'

const relative = (got: number, want: number) => Math.abs(got / want - 1)

/** Error budget of this file: pressures 0.03 % against other formulas, points 0.002 K, densities 0.2 %. */
describe('saturation pressure over water', () => {
  test.each([
    // IAPWS R7-97 Table 35; SR1-86 is another formula of the same body for the same line.
    [26.85, 3536.58941, 1e-4],
    // Triple point, IAPWS.
    [0.01, 611.657, 2e-6],
    // Normal boiling point 373.1243 K, IAPWS SR1-86.
    [99.9743, 101_325.015, 1e-6],
    // IAPWS R7-97 Table 36: 0.1 MPa boils at 372.755919 K.
    [99.605919, 1e5, 1e-4],
  ])('IAPWS anchor at %d degC', (tempC, wantPa, tolerance) => {
    expect(relative(saturationPressureOverWaterPa(tempC), wantPa)).toBeLessThan(tolerance)
  })

  // Columns: SR1-86 itself, IF97, Hyland-Wexler 1983, Sonntag 1990; Pa. Computed from the published coefficients.
  test.each([
    [5, 872.5302, 872.5749, 872.4867, 872.5395],
    [10, 1228.1122, 1228.1839, 1227.9953, 1228.1334],
    [15, 1705.677, 1705.7449, 1705.4478, 1705.7133],
    [20, 2339.1937, 2339.2148, 2338.8037, 2339.2491],
    [25, 3169.8245, 3169.7469, 3169.2165, 3169.9039],
    [30, 4246.9199, 4246.6883, 4246.0302, 4247.0291],
    [35, 5629.0574, 5628.6201, 5627.8194, 5629.2022],
    [40, 7385.1105, 7384.4275, 7383.46, 7385.2957],
    [50, 12_352.4789, 12_351.2704, 12_349.8565, 12_352.7431],
  ])('at %d degC agrees with four formulas', (tempC, own, ...others) => {
    const gotPa = saturationPressureOverWaterPa(tempC)
    expect(Math.abs(gotPa - own)).toBeLessThan(1e-3)
    for (const other of others) expect(relative(gotPa, other)).toBeLessThan(3e-4)
  })

  // Supercooled water: SR1-86 carried on, against Hyland-Wexler and Sonntag.
  test.each([
    [0, 611.2128, 611.2129, 611.2128],
    [-5, 421.8112, 421.8335, 421.804],
    [-10, 286.5331, 286.5635, 286.5207],
    [-20, 125.604, 125.6292, 125.5865],
    [-30, 51.0487, 51.0613, 51.0316],
  ])('supercooled at %d degC', (tempC, own, ...others) => {
    const gotPa = saturationPressureOverWaterPa(tempC)
    expect(Math.abs(gotPa - own)).toBeLessThan(1e-3)
    for (const other of others) expect(relative(gotPa, other)).toBeLessThan(4e-4)
  })

  // ASHRAE Fundamentals 2017 ch. 1 Table 3 (which prints IF97 values), as asserted by the reference library's suite.
  test.each([
    [5, 872.6],
    [25, 3169.7],
    [50, 12_351.3],
    [100, 101_418],
  ])('ASHRAE table 3 at %d degC', (tempC, wantPa) => {
    expect(relative(saturationPressureOverWaterPa(tempC), wantPa)).toBeLessThan(3e-4)
  })
})

describe('saturation pressure over ice', () => {
  test('IAPWS R14-08 table of check values: 230 K', () => {
    expect(Math.abs(saturationPressureOverIcePa(230 - 273.15) - 8.94735)).toBeLessThan(1e-5)
  })

  // R14-08 itself, Hyland-Wexler 1983 over ice.
  test.each([
    [0, 611.1535, 611.1536],
    [-5, 401.741, 401.7641],
    [-10, 259.8738, 259.9029],
    [-20, 103.239, 103.2604],
    [-40, 12.8412, 12.8453],
    [-60, 1.08135, 1.08167],
  ])('at %d degC', (tempC, own, hylandWexler) => {
    const gotPa = saturationPressureOverIcePa(tempC)
    expect(Math.abs(gotPa - own)).toBeLessThan(1e-3)
    expect(relative(gotPa, hylandWexler)).toBeLessThan(4e-4)
  })

  test('water and ice meet at the triple point', () => {
    expect(relative(saturationPressureOverIcePa(0.01), saturationPressureOverWaterPa(0.01))).toBeLessThan(
      1e-6,
    )
  })
})

/** SR1-86 and R14-08 inverted numerically: temperature, RH, e Pa, dew, frost (null: none), g/m3, W at 101325 Pa. */
const POINTS: readonly (readonly [number, number, number, number, number | null, number, number])[] = [
  [20, 50, 1169.5969, 9.274, null, 8.64519, 0.00726296],
  [25, 50, 1584.9122, 13.865, null, 11.51857, 0.00988297],
  [25, 15, 475.4737, -3.408, -3.014, 3.45557, 0.00293227],
  [25, 6, 190.1895, -15.077, -13.469, 1.38223, 0.0011696],
  [20, 15, 350.8791, -7.407, -6.574, 2.59356, 0.00216122],
  [20, 6, 140.3516, -18.703, -16.759, 1.03742, 0.00086269],
  [30, 10, 424.692, -4.91, -4.349, 3.0356, 0.00261778],
  [15, 40, 682.2708, 1.523, null, 5.13058, 0.00421625],
  [10, 10, 122.8112, -20.261, -18.178, 0.93983, 0.00075474],
  [5, 15, 130.8795, -19.521, -17.504, 1.01958, 0.00080439],
  [35, 3, 168.8717, -16.509, -14.766, 1.18747, 0.00103829],
  [20, 0.1, 2.3392, -58.552, -54.14, 0.01729, 0.00001436],
]

describe('dew point, frost point, vapour density, humidity ratio', () => {
  test.each(POINTS)('%d degC, %d %%', (tempC, humidityPct, ePa, dew, frost, density, ratio) => {
    const gotPa = vapourPressurePa(humidityPct, tempC)
    expect(Math.abs(gotPa - ePa)).toBeLessThan(1e-3)
    expect(Math.abs((dewPointC(gotPa) ?? Number.NaN) - dew)).toBeLessThan(0.002)
    const gotFrost = frostPointC(gotPa)
    if (frost === null) expect(gotFrost).toBeNull()
    else expect(Math.abs((gotFrost ?? Number.NaN) - frost)).toBeLessThan(0.002)
    expect(Math.abs(vapourDensityGm3(humidityPct, tempC) - density)).toBeLessThan(2e-5)
    expect(Math.abs(humidityRatio(gotPa, 101_325) - ratio)).toBeLessThan(2e-8)
  })

  test('saturated vapour at 25 degC: IAPWS-95 real gas 23.0726 g/m3, within the ideal-gas budget of 0.2 %', () => {
    expect(relative(saturationDensityGm3(25), 23.0726)).toBeLessThan(2e-3)
  })

  // ASHRAE Fundamentals 2017 ch. 1 Table 2, saturated air at 101325 Pa; the tables carry the enhancement factor.
  test.each([
    [5, 5.425e-3, 0.005],
    [25, 0.020173, 0.005],
    [50, 0.086863, 0.01],
  ])('ASHRAE table 2 at %d degC', (tempC, want, tolerance) => {
    const got = humidityRatio(saturationPressureOverWaterPa(tempC), 101_325)
    expect(relative(got, want)).toBeLessThan(tolerance)
  })

  // ASHRAE Fundamentals 2017 ch. 1 Table 1, standard atmosphere.
  test.each([
    [-500, 107_478],
    [0, 101_325],
    [500, 95_461],
    [1000, 89_875],
    [4000, 61_640],
    [10_000, 26_436],
  ])('standard atmosphere at %d m', (elevationM, wantPa) => {
    expect(Math.abs(standardPressurePa(elevationM) - wantPa)).toBeLessThan(1)
  })
})

/** psychrolib (MIT), an independent library of the ASHRAE formulas (Hyland-Wexler). */
describe('against the reference library', () => {
  beforeAll(() => psychrolib.SetUnitSystem(psychrolib.SI))

  const grid = [1, 3, 6, 10, 15, 30, 50, 80, 100].flatMap((humidityPct) =>
    [1, 5, 10, 15, 20, 25, 30, 40].map((tempC) => [humidityPct, tempC] as const),
  )

  test.each(grid)('%d %% at %d degC', (humidityPct, tempC) => {
    const ownPa = vapourPressurePa(humidityPct, tempC)
    const theirPa = psychrolib.GetVapPresFromRelHum(tempC, humidityPct / 100)
    expect(relative(ownPa, theirPa)).toBeLessThan(3e-4)
    // Its "dew point" is the frost point below the triple point.
    const point = frostPointC(ownPa) ?? dewPointC(ownPa)
    const theirs = psychrolib.GetTDewPointFromRelHum(tempC, humidityPct / 100)
    expect(Math.abs((point ?? Number.NaN) - theirs)).toBeLessThan(0.006)
  })

  test('below freezing the two mean different things: ours over water (WMO), theirs over ice', () => {
    expect(vapourPressurePa(50, -5)).toBeCloseTo(210.9056, 3)
    expect(relative(psychrolib.GetVapPresFromRelHum(-5, 0.5), 200.8821)).toBeLessThan(1e-5)
    const onIcePa = saturationPressureOverIcePa(-5) / 2
    expect(relative(onIcePa, psychrolib.GetVapPresFromRelHum(-5, 0.5))).toBeLessThan(3e-4)
  })

  test('dry air is no error here, while the library throws at 0 %', () => {
    expect(() => psychrolib.GetTDewPointFromRelHum(20, 0)).toThrow()
    expect(dewPointC(vapourPressurePa(0, 20))).toBeNull()
    expect(frostPointC(vapourPressurePa(0, 20))).toBeNull()
  })
})

/** Plain algebra on the saturation line: what a cooling hangar does to RH without a gram of water. */
describe('RH change with temperature, water kept', () => {
  test.each([
    [10, 30, 5, 44.66],
    [15, 25, 10, 36.768],
    [15, 20, 0, 53.491],
    [6, 35, 15, 18.516],
    [6, 20, 35, 2.6209],
    [40, 15, 10, 54.591],
  ])('%d %% at %d degC, sealed, then %d degC', (humidityPct, fromC, toC, want) => {
    const got = humidityPctOfDensity(vapourDensityGm3(humidityPct, fromC), toC)
    expect(Math.abs(got - want)).toBeLessThan(0.02)
  })
})
