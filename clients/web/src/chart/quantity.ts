/**
 * The three ways to look at the same air. Relative humidity is what the band is set in; frost point and vapour density
 * are what water does, free of the hangar's cooling. The formulas are the analysis's own, so that chart and rule agree.
 */
import { dewPointC, frostPointC } from '../../../../src/core/air/dew-point.ts'
import { vapourDensityGm3, vapourPressurePa } from '../../../../src/core/air/vapour.ts'
import { number, temperatureUnit, withUnit } from '../units.ts'

export type Quantity = 'humidity' | 'frost' | 'density'
export const quantities: readonly { key: Quantity; label: string }[] = [
  { key: 'humidity', label: 'RH' },
  { key: 'frost', label: 'Frost point' },
  { key: 'density', label: 'g/m³' },
]

/** Air below this is drier than any sensor tells: its frost point would only draw noise, % RH. */
const driestPct = 0.1

/**
 * Value of the quantity, in %, degC or g/m3. `null` without what it needs: frost point and density need a temperature.
 * Frost point over ice below 0 degC; above it there is no frost, and the dew point carries on where it ends.
 */
export function valueOf(quantity: Quantity, humidityPct: number | null, tempC: number | null): number | null {
  if (humidityPct === null) return null
  if (quantity === 'humidity') return humidityPct
  if (tempC === null) return null
  if (quantity === 'density') return vapourDensityGm3(humidityPct, tempC)
  const pressurePa = vapourPressurePa(Math.max(humidityPct, driestPct), tempC)
  return frostPointC(pressurePa) ?? dewPointC(pressurePa)
}

export function shown(quantity: Quantity, value: number): string {
  if (quantity === 'humidity') return withUnit(value, value < 20 ? 1 : 0, '%')
  if (quantity === 'density') return withUnit(value, value < 10 ? 2 : 1, 'g/m³')
  const point = value < 0 ? 'frost point' : 'dew point'
  return `${point} ${
    temperatureUnit.value === 'degF' ? withUnit(value * 1.8 + 32, 0, '°F') : withUnit(value, 1, '°C')
  }`
}

/** A limit of the band, as it was set. */
export function limitText(pct: number): string {
  return withUnit(pct, Number.isInteger(pct) ? 0 : 1, '%')
}

/** Short text beside the axis. */
export function tick(quantity: Quantity, value: number): string {
  if (quantity === 'humidity') return limitText(value)
  if (quantity === 'density') return number(value, value < 1 ? 1 : 0)
  return temperatureUnit.value === 'degF' ? withUnit(value * 1.8 + 32, 0, '°F') : withUnit(value, 0, '°C')
}

/**
 * The axis: a square root gives the band room and still lets a wet engine fit. Frost points lie on a plain scale.
 * `ticks` are candidates, thinned to what fits.
 */
export const isSquareRoot = (quantity: Quantity): boolean => quantity !== 'frost'
export function axisRange(quantity: Quantity, low: number, high: number): [number, number] {
  if (quantity === 'frost') return [Math.floor((low - 2) / 5) * 5, Math.ceil((high + 2) / 5) * 5]
  const bottom = Math.max(0, low * 0.6)
  const top = quantity === 'humidity' ? Math.min(100, Math.max(high * 1.12, 22)) : high * 1.15
  return [bottom, Math.max(top, bottom + 0.5)]
}
const squareTicks = [0, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 40, 60, 80, 100]
export function axisTicks(quantity: Quantity, low: number, high: number): number[] {
  if (quantity !== 'frost') {
    const fit = squareTicks.filter((t) => t >= low && t <= high)
    return fit.length > 6 ? fit.slice(-6) : fit
  }
  const step = [2, 5, 10, 20].find((s) => (high - low) / s <= 7) ?? 20
  const out: number[] = []
  for (let t = Math.ceil(low / step) * step; t <= high; t += step) out.push(t)
  return out
}

/** Room that a label needs on the axis, px. */
const labelPx = 17
/** The limits of the band stand on the axis of humidity; what would be written over them gives way. */
export function withLimits(
  ticks: readonly number[],
  limits: readonly number[],
  axis: { low: number; high: number; heightPx: number },
): number[] {
  const scale = axis.heightPx / (Math.sqrt(axis.high) - Math.sqrt(axis.low))
  const isFree = (value: number): boolean =>
    limits.every((limit) => Math.abs(Math.sqrt(value) - Math.sqrt(limit)) * scale >= labelPx)
  return [...ticks.filter(isFree), ...limits].toSorted((a, b) => a - b)
}
