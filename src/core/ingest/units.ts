/** Units a recipe may name, as a scale and an offset to the stored unit: % RH, degC, W. */

export type HumidityUnit = '%' | '1'
export type TemperatureUnit = 'degC' | 'degF' | 'K'
export type PowerUnit = 'W' | 'mW'
export type TimeUnit = 's' | 'ms' | 'rfc3339'

export type Linear = { readonly scale: number; readonly offset: number }

export const SAME: Linear = { scale: 1, offset: 0 }

export const HUMIDITY_UNITS: Readonly<Record<HumidityUnit, Linear>> = {
  '%': SAME,
  '1': { scale: 100, offset: 0 },
}

export const TEMPERATURE_UNITS: Readonly<Record<TemperatureUnit, Linear>> = {
  degC: SAME,
  degF: { scale: 5 / 9, offset: (-32 * 5) / 9 },
  K: { scale: 1, offset: -273.15 },
}

export const POWER_UNITS: Readonly<Record<PowerUnit, Linear>> = { W: SAME, mW: { scale: 0.001, offset: 0 } }
