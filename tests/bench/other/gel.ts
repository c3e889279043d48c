/**
 * Three other descriptions of water on silica gel, none of them that of the analysis. As pressure over a loading:
 * - toth: type RD, Ng et al. 2001, Appl. Therm. Eng. 21, 1631; Chua et al. 2004 (K0, heat, qm, t). Dry at low humidity:
 *   0.044 kg/kg at 6 %, 25 degC.
 * - freundlich: W = 0.346 x^(1/1.6), the form of Saha, Boelman & Kashiwagi 1995 for a chiller's gel, from memory;
 *   0.060 kg/kg at 6 %.
 * - dubinin: W = W0 exp(-(A/E)^n), A = -R T ln x (Dubinin & Astakhov 1971). W0, E and n are no published set: they go
 *   through what such gels hold (0.055 kg/kg at 6 %, 0.10 at 15 %, 0.34 at saturation).
 */
import { saturationPa } from './vapour.ts'

export type Gel = 'toth' | 'freundlich' | 'dubinin'
export const GELS: readonly Gel[] = ['toth', 'freundlich', 'dubinin']

const KELVIN = 273.15
const TOTH = { k0PerPa: 7.3e-13, heatJKg: 2.693e6, mostKgKg: 0.45, power: 12 }
const DUBININ = { mostKgKg: 0.35, energyJMol: 3770, power: 1 }
const NONE_KG_KG = 1e-6

/** Vapour pressure over gel of a loading (kg/kg, any), Pa; never above saturation. */
export function pressureOverGelPa(gel: Gel, loadingKgKg: number, tempC: number): number {
  const loading = Math.max(NONE_KG_KG, loadingKgKg)
  const fullPa = saturationPa(tempC)
  if (gel === 'freundlich') return fullPa * Math.min(1, (loading / 0.346) ** 1.6)
  if (gel === 'dubinin') {
    if (loading >= DUBININ.mostKgKg) return fullPa
    const potential = DUBININ.energyJMol * Math.log(DUBININ.mostKgKg / loading) ** (1 / DUBININ.power)
    return fullPa * Math.exp(-potential / (8.314 * (tempC + KELVIN)))
  }
  const room = 1 - (loading / TOTH.mostKgKg) ** TOTH.power
  if (room <= 0) return fullPa
  const perPa = TOTH.k0PerPa * Math.exp(TOTH.heatJKg / (461.5 * (tempC + KELVIN)))
  return Math.min(fullPa, loading / perPa / room ** (1 / TOTH.power))
}

/** Loading in balance with a pressure, kg/kg, by halving: within 1e-6. */
export function loadingAtKgKg(gel: Gel, pressurePa: number, tempC: number): number {
  let low = 0
  let high = 0.6
  for (let round = 0; round < 20; round++) {
    const middle = (low + high) / 2
    if (pressureOverGelPa(gel, middle, tempC) < pressurePa) low = middle
    else high = middle
  }
  return (low + high) / 2
}
