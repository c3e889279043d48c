import type { SensorPoint } from './salt-check.ts'

const YEAR_S = 365.25 * 86_400

/** Drift of a cheap capacitive sensor, % RH per root year, one standard deviation (common practice, no published source). */
export const DRIFT_PCT_PER_ROOT_YEAR = 1
/** Added after the sensor has sat above 90 % RH, for three days (common practice, no published source). */
export const SOAKED_ABOVE_PCT = 90
export const SOAKED_PCT = 1.5
export const SOAKED_S = 72 * 3600
/** A sensor never checked: makers state 2 to 4 % RH, one standard deviation is half to two thirds of that. */
export const UNCHECKED_PCT = 2

/** A salt above this (sodium chloride) is no point of a correction, % RH. */
export const CONFIRMS_ABOVE_PCT = 50

/** Two points closer than this, % RH, turn half a percent of error into a useless slope. */
export const LINE_SPAN_MIN_PCT = 10
/** A sensor whose span is off by a quarter is broken, not in need of a correction. */
const SLOPE_MIN = 0.75
const SLOPE_MAX = 1.25

export type Correction =
  | { readonly kind: 'none' }
  | { readonly kind: 'offset'; readonly point: SensorPoint }
  | { readonly kind: 'line'; readonly low: SensorPoint; readonly high: SensorPoint }

export type CorrectionRefusal =
  | { readonly reason: 'points_too_close'; readonly spanPct: number; readonly spanMinPct: number }
  | {
      readonly reason: 'slope_out_of_range'
      readonly slope: number
      readonly slopeMin: number
      readonly slopeMax: number
    }

export type CorrectionResult = {
  readonly correction: Correction
  /** Why a second point was not used; the newest point alone then gives the offset. */
  readonly refusal: CorrectionRefusal | null
}

/**
 * The correction from a sensor's known points, oldest first: one point is an offset, two a line. The newest point counts
 * and the newest other one at least 10 % RH away from it. Points belong to one sensor: a replaced sensor starts with
 * none. Those far above any band only confirm: carried down to it, half a percent at 75 % turns the sign of what is known there.
 */
export function correctionOf(all: readonly SensorPoint[]): CorrectionResult {
  const points = all.filter(({ truePct }) => truePct < CONFIRMS_ABOVE_PCT)
  const newest = points.at(-1)
  if (newest === undefined) return { correction: { kind: 'none' }, refusal: null }
  const offset: Correction = { kind: 'offset', point: newest }
  if (points.length === 1) return { correction: offset, refusal: null }
  const spanOf = (point: SensorPoint) => Math.abs(point.truePct - newest.truePct)
  const other = points.findLast((point) => spanOf(point) >= LINE_SPAN_MIN_PCT)
  if (other === undefined) {
    const spanPct = Math.max(...points.map(spanOf))
    const isRepeat = spanPct < 1
    const refusal = { reason: 'points_too_close', spanPct, spanMinPct: LINE_SPAN_MIN_PCT } as const
    return { correction: offset, refusal: isRepeat ? null : refusal }
  }
  const [low, high] = other.truePct < newest.truePct ? [other, newest] : [newest, other]
  const slope = (high.truePct - low.truePct) / (high.shownPct - low.shownPct)
  if (!(slope >= SLOPE_MIN && slope <= SLOPE_MAX)) {
    const refusal = { reason: 'slope_out_of_range', slope, slopeMin: SLOPE_MIN, slopeMax: SLOPE_MAX } as const
    return { correction: offset, refusal }
  }
  return { correction: { kind: 'line', low, high }, refusal: null }
}

/** The corrected humidity, % RH, kept within 0..100. Only for judging water: the pump's band uses the reading itself. */
export function correctPct(correction: Correction, humidityPct: number): number {
  const pct =
    correction.kind === 'none'
      ? humidityPct
      : correction.kind === 'offset'
        ? humidityPct + correction.point.truePct - correction.point.shownPct
        : correction.low.truePct +
          ((correction.high.truePct - correction.low.truePct) * (humidityPct - correction.low.shownPct)) /
            (correction.high.shownPct - correction.low.shownPct)
  return Math.min(100, Math.max(0, pct))
}

/**
 * One standard deviation of a corrected humidity, % RH: the points carried to `humidityPct` (a line extrapolates: at 6 %
 * from LiCl and MgCl2 about 0.8 %), the drift since the newest point, and three days more after a soaking.
 */
export function correctionSigmaPct(
  correction: Correction,
  at: { readonly humidityPct: number; readonly atS: number; readonly soakedAtS: number | null },
): number {
  const soaked = at.soakedAtS !== null && at.atS - at.soakedAtS < SOAKED_S ? SOAKED_PCT : 0
  if (correction.kind === 'none') return Math.hypot(UNCHECKED_PCT, soaked)
  const newestS =
    correction.kind === 'offset' ? correction.point.atS : Math.max(correction.low.atS, correction.high.atS)
  const years = Math.max(0, at.atS - newestS) / YEAR_S
  const drift = DRIFT_PCT_PER_ROOT_YEAR * Math.sqrt(years)
  if (correction.kind === 'offset') return Math.hypot(correction.point.sigmaPct, drift, soaked)
  const { low, high } = correction
  const share = (at.humidityPct - low.shownPct) / (high.shownPct - low.shownPct)
  return Math.hypot(low.sigmaPct * (1 - share), high.sigmaPct * share, drift, soaked)
}
