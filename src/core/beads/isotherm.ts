import { densityOfPressureGm3 } from '../air/vapour.ts'
import type { BeadKind } from './kinds.ts'

const KELVIN = 273.15
const REFERENCE_K = 298.15
const VAPOUR_KJ_KG_K = 0.4615

/** Points as logarithms, ascending, and the slope from each to the next. */
type LogCurve = { readonly logP: readonly number[]; readonly logW: readonly number[] }

function logCurve(kind: BeadKind): LogCurve {
  return {
    logP: kind.points25.map(([pressurePa]) => Math.log(pressurePa)),
    logW: kind.points25.map(([, held]) => Math.log(held)),
  }
}

/** Straight lines through the points; the first and the last line go on beyond the ends. */
function interpolate(xs: readonly number[], ys: readonly number[], x: number): number {
  let i = 1
  while (i < xs.length - 1 && x > (xs[i] ?? 0)) i++
  const x0 = xs[i - 1] ?? 0
  const x1 = xs[i] ?? 0
  const y0 = ys[i - 1] ?? 0
  const y1 = ys[i] ?? 0
  return y0 + ((y1 - y0) * (x - x0)) / (x1 - x0)
}

/**
 * How the vapour pressure above beads of unchanged loading moves with temperature, relative to 25 degC
 * (Clausius-Clapeyron with the isosteric heat). Below 10 degC carry 30 % error: the measured 0 degC isotherm does not
 * follow it better than that.
 */
export function pressureShift(kind: BeadKind, tempC: number): number {
  return Math.exp(-(kind.heatKJPerKg / VAPOUR_KJ_KG_K) * (1 / (tempC + KELVIN) - 1 / REFERENCE_K))
}

/** Water held in equilibrium with a vapour pressure, kg per kg of dry beads. Monotone; 0 at 0. */
export function loadingKgKg(kind: BeadKind, pressurePa: number, tempC: number): number {
  if (!(pressurePa > 0)) return 0
  const curve = logCurve(kind)
  return Math.exp(interpolate(curve.logP, curve.logW, Math.log(pressurePa / pressureShift(kind, tempC))))
}

/** Vapour pressure above beads that hold `loading` kg/kg, Pa: the exact inverse of `loadingKgKg`. */
export function equilibriumPressurePa(kind: BeadKind, loading: number, tempC: number): number {
  if (!(loading > 0)) return 0
  const curve = logCurve(kind)
  return Math.exp(interpolate(curve.logW, curve.logP, Math.log(loading))) * pressureShift(kind, tempC)
}

/**
 * The curve at 25 degC in even steps of loading: a bed of cells asks for it a million times in a replay, and a straight
 * line between entries differs from the exact curve by under 0.1 % (tested). Beyond the last entry (0.6 kg/kg, over
 * saturation) it goes on straight, below the first few as the power law itself.
 */
export type FastIsotherm = {
  readonly kind: BeadKind
  readonly pressures25Pa: Float64Array
  /** Under this loading: pressure = `lowFactor` loading^`lowPower`. */
  readonly lowKgKg: number
  readonly lowFactor: number
  readonly lowPower: number
  /** The steepest rise of pressure with loading in the table, Pa for each kg/kg. */
  readonly steepestPa: number
}

const TABLE_STEPS = 3000
/** The table ends at 0.6 kg/kg. */
const STEPS_PER_KG_KG = 5000
/** Entries below this index are too coarse for a straight line. */
const TABLE_FIRST = 25

/** Tabulates a kind; keep the result, it holds 24 kB. */
export function tabulateIsotherm(kind: BeadKind): FastIsotherm {
  const stepKgKg = 1 / STEPS_PER_KG_KG
  const { logP, logW } = logCurve(kind)
  const lowPower = ((logP[1] ?? 0) - (logP[0] ?? 0)) / ((logW[1] ?? 0) - (logW[0] ?? 1))
  const pressures25Pa = Float64Array.from({ length: TABLE_STEPS + 1 }, (_, i) =>
    equilibriumPressurePa(kind, i * stepKgKg, 25),
  )
  let steepestPa = 0
  for (let i = 1; i <= TABLE_STEPS; i++) {
    const risePa = (pressures25Pa[i] ?? 0) - (pressures25Pa[i - 1] ?? 0)
    steepestPa = Math.max(steepestPa, risePa / stepKgKg)
  }
  return {
    kind,
    pressures25Pa,
    steepestPa,
    lowKgKg: TABLE_FIRST * stepKgKg,
    lowFactor: Math.exp((logP[0] ?? 0) - lowPower * (logW[0] ?? 0)),
    lowPower,
  }
}

/** `equilibriumPressurePa` at 25 degC from the table, within 0.1 %. */
export function pressure25Pa(table: FastIsotherm, loading: number): number {
  if (loading < table.lowKgKg) return loading > 0 ? table.lowFactor * loading ** table.lowPower : 0
  const at = loading * STEPS_PER_KG_KG
  const below = Math.min(TABLE_STEPS - 1, Math.floor(at))
  const lower = table.pressures25Pa[below] ?? 0
  const upper = table.pressures25Pa[below + 1] ?? 0
  return lower + (upper - lower) * (at - below)
}

/**
 * g/m3 of vapour above beads at `tempC` for each Pa they would show at 25 degC. One number a parcel: all cells and all
 * capacity scales share it.
 */
export function densityPerPa25(kind: BeadKind, tempC: number): number {
  return densityOfPressureGm3(pressureShift(kind, tempC), tempC)
}
