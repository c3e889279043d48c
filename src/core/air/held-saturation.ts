import { SATURATION_MAX_C, SATURATION_MIN_C } from './saturation.ts'
import { saturationDensityGm3 } from './vapour.ts'

const STEPS_PER_C = 100
const held = new Float64Array((SATURATION_MAX_C - SATURATION_MIN_C) * STEPS_PER_C + 1)

/**
 * Saturation vapour density over water, g/m3, with the temperature rounded to 0.01 degC, the resolution readings are
 * kept at (0.03 % of the value at most). Computed once per temperature and held: a year's fold asks a million times.
 * Same range and RangeError as `saturationDensityGm3`.
 */
export function heldSaturationGm3(tempC: number): number {
  const index = Math.round((tempC - SATURATION_MIN_C) * STEPS_PER_C)
  const known = held[index]
  if (known !== undefined && known > 0) return known
  const computed = saturationDensityGm3(Math.round(tempC * STEPS_PER_C) / STEPS_PER_C)
  held[index] = computed
  return computed
}
