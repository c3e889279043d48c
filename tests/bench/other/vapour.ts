/**
 * Air of the second simulator, by other formulas than those of the analysis: A. L. Buck's equations of 1996 (a revision
 * of J. Appl. Meteorol. 20, 1527, 1981), coefficients from memory; they agree with the IAPWS tables within 0.1 % from
 * -20 to 50 degC.
 */
const KELVIN = 273.15
/** Gas constant of water vapour, J/(kg K). */
const VAPOUR_J_KGK = 461.5

/** Saturation pressure over (also supercooled) water, Pa; -40 to 60 degC. */
export function saturationPa(tempC: number): number {
  return 611.21 * Math.exp((18.678 - tempC / 234.5) * (tempC / (257.14 + tempC)))
}

/** Saturation pressure over what really lies there, Pa: ice below 0 degC. */
export function surfacePa(tempC: number): number {
  return tempC >= 0
    ? saturationPa(tempC)
    : 611.15 * Math.exp((23.036 - tempC / 333.7) * (tempC / (279.82 + tempC)))
}

/** Vapour density at a pressure, g/m3. */
export function densityGm3(pressurePa: number, tempC: number): number {
  return (1000 * pressurePa) / (VAPOUR_J_KGK * (tempC + KELVIN))
}

/** RH over water, %, of air with a vapour density. */
export function humidityPct(densityOfAirGm3: number, tempC: number): number {
  return (100 * densityOfAirGm3) / densityGm3(saturationPa(tempC), tempC)
}

/** Dew point over water, degC: Buck's equation without its small quadratic term, inverted, then once improved. */
export function dewC(pressurePa: number): number {
  let tempC = 0
  for (let round = 0; round < 6; round++) {
    const log = Math.log(Math.max(1, pressurePa) / 611.21)
    tempC = (257.14 * log) / (18.678 - tempC / 234.5 - log)
  }
  return tempC
}
