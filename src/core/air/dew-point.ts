import {
  SATURATION_MAX_C,
  SATURATION_MIN_C,
  saturationPressureOverIcePa,
  saturationPressureOverWaterPa,
} from './saturation.ts'

/** Above it there is no ice, so no frost point. */
const TRIPLE_C = 0.01

const ITERATIONS_MAX = 40
const TOLERANCE_C = 1e-9

type Curve = {
  readonly pressurePa: (tempC: number) => number
  /** Magnus slope and offset (WMO-No. 8, annex 4.B): start value and slope for Newton's step, not the result. */
  readonly slope: number
  readonly offsetC: number
  readonly maxC: number
}

const WATER: Curve = {
  pressurePa: saturationPressureOverWaterPa,
  slope: 17.62,
  offsetC: 243.12,
  maxC: SATURATION_MAX_C,
}
const ICE: Curve = { pressurePa: saturationPressureOverIcePa, slope: 22.46, offsetC: 272.62, maxC: TRIPLE_C }

/**
 * The temperature at which `curve` reaches a pressure, degC. Newton's step on ln e, kept inside a shrinking bracket,
 * so that it ends for every pressure within the range; `null` outside.
 */
function invert(curve: Curve, pressurePa: number): number | null {
  let lowC = SATURATION_MIN_C
  let highC = curve.maxC
  if (!(pressurePa >= curve.pressurePa(lowC) && pressurePa <= curve.pressurePa(highC))) return null
  const target = Math.log(pressurePa)
  const first = target - Math.log(611.2)
  let tempC = Math.min(highC, Math.max(lowC, (curve.offsetC * first) / (curve.slope - first)))
  for (let round = 0; round < ITERATIONS_MAX; round++) {
    const error = Math.log(curve.pressurePa(tempC)) - target
    // A start that is already there closes the bracket on itself, and a step from it would be the middle of what is left.
    if (Math.abs(error) < 1e-13) return tempC
    if (error > 0) highC = tempC
    else lowC = tempC
    const slopePerC = (curve.slope * curve.offsetC) / (curve.offsetC + tempC) ** 2
    const nextC = tempC - error / slopePerC
    const guardedC = nextC > lowC && nextC < highC ? nextC : (lowC + highC) / 2
    if (Math.abs(guardedC - tempC) < TOLERANCE_C) return guardedC
    tempC = guardedC
  }
  return tempC
}

/**
 * Dew point over liquid water, degC, of a vapour pressure; below freezing over supercooled water. The inverse of
 * `saturationPressureOverWaterPa` to 1e-9 K. `null` for dry air whose dew point lies under -100 degC, and over 125.
 */
export function dewPointC(pressurePa: number): number | null {
  return invert(WATER, pressurePa)
}

/**
 * Frost point over ice, degC, of a vapour pressure: the inverse of `saturationPressureOverIcePa` to 1e-9 K. `null`
 * where frost cannot form (above the triple point, 611.657 Pa) and under -100 degC. Between 6 and 15 % RH at room
 * temperature it lies 0.4 to over 2 K above the dew point: say which of the two is shown.
 */
export function frostPointC(pressurePa: number): number | null {
  return invert(ICE, pressurePa)
}
