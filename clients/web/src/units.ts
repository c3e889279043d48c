/** Values with their unit, one way everywhere. A narrow no-break space keeps number and unit together. */
import { signal } from '@preact/signals'
import type { TemperatureUnit } from './shapes.ts'

export const temperatureUnit = signal<TemperatureUnit>('degC')
const gap = '\u202f'
const minus = '\u2212'

export function number(value: number, digits: number): string {
  const text = value.toFixed(digits)
  return (Number(text) === 0 ? text.replace('-', '') : text).replace('-', minus)
}

/** "9 %" above 10, "9.3 %" below: a tenth means something only down there. */
export function humidity(pct: number, digits: number = pct < 20 ? 1 : 0): string {
  return `${number(pct, digits)}${gap}%`
}
export function temperature(tempC: number, digits = 1): string {
  return temperatureUnit.value === 'degF'
    ? `${number(tempC * 1.8 + 32, Math.max(0, digits - 1))}${gap}°F`
    : `${number(tempC, digits)}${gap}°C`
}
export function grams(g: number): string {
  return `${number(g, Math.abs(g) < 10 ? 1 : 0)}${gap}g`
}
export function hours(h: number): string {
  return `${number(h, h < 10 ? 1 : 0)}${gap}h`
}
export function withUnit(value: number, digits: number, unit: string): string {
  return `${number(value, digits)}${gap}${unit}`
}

/** A sentence whose numbers keep their units when the line breaks. */
export function tied(sentence: string): string {
  return sentence.replace(/(\d) (%|°C|°F|g|kg|W|L|h)(?![\p{L}\d])/gu, '$1\u202f$2')
}
