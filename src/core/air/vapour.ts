import { saturationPressureOverWaterPa } from './saturation.ts'

const KELVIN = 273.15

/** Gas constant of water vapour, J/(kg K): 8.314462618 / 0.018015268, rounded as usual. */
const VAPOUR_J_KG_K = 461.5

/**
 * Vapour density of a vapour pressure, g/m3, as an ideal gas: 0.16 % under real vapour at 25 degC saturation, less in
 * dry air.
 */
export function densityOfPressureGm3(pressurePa: number, tempC: number): number {
  return (1000 * pressurePa) / (VAPOUR_J_KG_K * (tempC + KELVIN))
}

/** Vapour pressure, Pa, of air at `humidityPct` (relative to liquid water, also below freezing: WMO practice). */
export function vapourPressurePa(humidityPct: number, tempC: number): number {
  return (humidityPct / 100) * saturationPressureOverWaterPa(tempC)
}

/** Saturation vapour density over water, g/m3; range as `saturationPressureOverWaterPa`. */
export function saturationDensityGm3(tempC: number): number {
  return densityOfPressureGm3(saturationPressureOverWaterPa(tempC), tempC)
}

/** Vapour density, g/m3, of air at `humidityPct` and `tempC`. What water balances are kept in. */
export function vapourDensityGm3(humidityPct: number, tempC: number): number {
  return (humidityPct / 100) * saturationDensityGm3(tempC)
}

/** Relative humidity over water, %, of air that holds `densityGm3` at `tempC`. Not cut off at 100. */
export function humidityPctOfDensity(densityGm3: number, tempC: number): number {
  return (100 * densityGm3) / saturationDensityGm3(tempC)
}
