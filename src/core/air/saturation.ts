/** Temperatures the formulas are used for, degC: readings reach -60..120, and dew points of dry air lie lower still. */
export const SATURATION_MIN_C = -100
export const SATURATION_MAX_C = 125

const KELVIN = 273.15
const CRITICAL_K = 647.096
const CRITICAL_PA = 22.064e6

function checkRange(tempC: number): void {
  // Written so that NaN fails too.
  if (!(tempC >= SATURATION_MIN_C && tempC <= SATURATION_MAX_C)) {
    throw new RangeError(
      `temperature ${tempC} degC is outside ${SATURATION_MIN_C}..${SATURATION_MAX_C} degC of the vapour pressure formula`,
    )
  }
}

/**
 * Saturation vapour pressure over liquid water, Pa.
 *
 * IAPWS SR1-86(1992), the saturation line of Wagner and Pruss; stated for 0.01 degC upwards (0.025 % there). Below
 * freezing it is carried on as supercooled water, which is what humidity sensors report against (WMO practice): it
 * stays within 0.07 % of Hyland-Wexler and Sonntag down to -30 degC. Range -100..125 degC, else RangeError.
 * Half powers are built from one square root: a year's replay calls this several hundred thousand times.
 */
export function saturationPressureOverWaterPa(tempC: number): number {
  checkRange(tempC)
  const tempK = tempC + KELVIN
  const v = 1 - tempK / CRITICAL_K
  const root = Math.sqrt(v)
  const v2 = v * v
  const v3 = v2 * v
  const v4 = v2 * v2
  const sum =
    -7.85951783 * v +
    1.84408259 * v * root -
    11.7866497 * v3 +
    22.6807411 * v3 * root -
    15.9618719 * v4 +
    1.80122502 * v4 * v3 * root
  return CRITICAL_PA * Math.exp((CRITICAL_K / tempK) * sum)
}

const TRIPLE_K = 273.16
const TRIPLE_PA = 611.657

/**
 * Saturation vapour pressure over ice, Pa.
 *
 * IAPWS R14-08(2011), the sublimation line of ice Ih (Wagner, Riethmann, Feistel, Harvey 2011); stated for
 * 50..273.16 K, a few parts in 1e4. Above the triple point (0.01 degC) there is no ice: RangeError there, as below
 * -100 degC.
 */
export function saturationPressureOverIcePa(tempC: number): number {
  checkRange(tempC)
  const theta = (tempC + KELVIN) / TRIPLE_K
  if (theta > 1) throw new RangeError(`there is no ice at ${tempC} degC`)
  const logTheta = Math.log(theta)
  const sum =
    -21.2144006 * Math.exp(0.00333333333 * logTheta) +
    27.3203819 * Math.exp(1.20666667 * logTheta) -
    6.1059813 * Math.exp(1.70333333 * logTheta)
  return TRIPLE_PA * Math.exp(sum / theta)
}
