/**
 * Pressure of the standard atmosphere at an elevation, Pa. ISO 2533 / ASHRAE Fundamentals ch. 1 eq. 3,
 * -5000..11000 m, else RangeError; the day's weather moves the true pressure by a few percent.
 */
export function standardPressurePa(elevationM: number): number {
  if (!(elevationM >= -5000 && elevationM <= 11_000)) {
    throw new RangeError(`elevation ${elevationM} m is outside -5000..11000 m of the standard atmosphere`)
  }
  return 101_325 * (1 - 2.25577e-5 * elevationM) ** 5.2559
}

/** Molar mass of water over that of dry air. */
const MASS_RATIO = 0.621945

/**
 * Humidity ratio, kg of vapour per kg of dry air (ASHRAE Fundamentals ch. 1 eq. 20), as ideal gases: up to 0.5 % low
 * beside handbook tables, which carry the enhancement factor. RangeError if the vapour alone reaches the pressure.
 */
export function humidityRatio(vapourPa: number, pressurePa: number): number {
  if (!(vapourPa >= 0 && vapourPa < pressurePa)) {
    throw new RangeError(`vapour pressure ${vapourPa} Pa must lie within 0..${pressurePa} Pa`)
  }
  return (MASS_RATIO * vapourPa) / (pressurePa - vapourPa)
}
