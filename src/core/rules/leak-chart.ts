import { median } from '../stats/quantile.ts'
import type { Ingress } from './ingress-window.ts'

/**
 * Tells a leak from the rig's own scatter: a CUSUM of the log likelihood ratio between "ln of the ingress is `SHIFT`
 * above the rig's own" and "it is its own", both normal with the scatter learned from the rig. A leak five times the
 * rig's own is ln 5 = 1.6; breathing and what seeps into the box do not grow with it, so that 1.3 arrives.
 */
export type LeakChart = {
  /** Last windows in order, ln L/h and ln 1/h: over five days after a flight, and three to five. */
  settled: Seen[]
  early: Seen[]
  sum: number
  /** The windows in `sum`, and their excess by water and by climb. */
  count: number
  excess: number
  climbExcess: number
  sinceS: number | null
}

type Seen = [logLitres: number, logClimb: number]

export const startChart = (): LeakChart => ({
  settled: [],
  early: [],
  sum: 0,
  count: 0,
  excess: 0,
  climbExcess: 0,
  sinceS: null,
})

const SHIFT = 1.3
/**
 * What a season or a spell of weeks adds to all days alike, ln: it is no scatter that averages away, so it is taken off
 * each day. A fifth where the hangar's air is measured (films and breathing go with temperature); where a stated climate
 * stands for it, moist and dry spells of a quarter on top.
 */
const DRIFT_MEASURED = 0.2
const DRIFT_STATED = 0.3
/**
 * Wald's bound: a sum of log likelihood ratios passes h by chance once in e^h starts. With two windows at least, each
 * counting 0.6 h at most (2.6 sigma twice, as for any rule here), and 200 windows a year of which a sixth leave zero,
 * h = 5 is 0.2 a rig-year for normal independent windows; the drift taken off and the 36 h below make it a tenth of that.
 * Simulated rigs, whose windows are neither, come to 0.3.
 */
const LIMIT = 5
const STEP_SHARE = 0.6
/** More would only delay the end; an open alert ends after four windows in order. */
const SUM_MAX = 1.3 * LIMIT
const FALL_SHARE = 0.35

/** The rig's own: so many windows at least, at most, and until when every window teaches, whatever it says. */
const REFERENCE_MIN = 3
const REFERENCE_MAX = 30
const LEARNING = 10
/** Scatter of a window before the rig's own is known, ln, weighing as much as so many windows; and the least believed. */
const PRIOR_SCATTER = 0.4
const PRIOR_WEIGHT = 5
const LEAST_SCATTER = 0.25
/** Variance of a median over that of a mean. */
const MEDIAN_LOSS = Math.PI / 2
/** Of a normal distribution: its standard deviation over its median absolute deviation. */
const MAD_TO_SD = 1.4826

const lastOf = (seen: readonly Seen[], which: 0 | 1) => seen.map((one) => one[which])

/** What a window is compared with: its own kind, or, with none, the wetter days after flights, which only hides a leak. */
function referenceOf(chart: LeakChart, isSettled: boolean): readonly Seen[] | null {
  const { settled, early } = chart
  if (isSettled && settled.length >= REFERENCE_MIN) return settled
  return early.length >= REFERENCE_MIN ? early : null
}

/** The rig's own ingress, L/h; `null` until it is known. */
export function ownLPerH(chart: LeakChart): number | null {
  const reference = referenceOf(chart, true)
  const mid = reference === null ? null : median(lastOf(reference, 0))
  return mid === null ? null : Math.exp(mid)
}

/** Variance of ln of one window about the rig's own, the doubt of the latter included. */
function varianceOf(logs: readonly number[], mid: number): number {
  const mad = MAD_TO_SD * (median(logs.map((log) => Math.abs(log - mid))) ?? 0)
  const count = logs.length
  const pooled = (count * mad * mad + PRIOR_WEIGHT * PRIOR_SCATTER * PRIOR_SCATTER) / (count + PRIOR_WEIGHT)
  return Math.max(LEAST_SCATTER * LEAST_SCATTER, pooled) * (1 + MEDIAN_LOSS / count)
}

function resetSum(chart: LeakChart): void {
  chart.sum = 0
  chart.count = 0
  chart.excess = 0
  chart.climbExcess = 0
  chart.sinceS = null
}

function weigh(chart: LeakChart, ingress: Ingress, how: HowJudged, reference: readonly Seen[]): void {
  const logs = lastOf(reference, 0)
  const mid = median(logs) ?? 0
  const excess = Math.log(ingress.litresPerH) - mid
  const drift = how.isAmbientMeasured ? DRIFT_MEASURED : DRIFT_STATED
  const ratio = (SHIFT * (excess - SHIFT / 2 - drift)) / varianceOf(logs, mid)
  const least = how.isOpen ? -FALL_SHARE * LIMIT : Number.NEGATIVE_INFINITY
  const step = Math.max(least, Math.min(STEP_SHARE * LIMIT, ratio))
  const sum = Math.min(SUM_MAX, chart.sum + step)
  if (sum <= 0) {
    resetSum(chart)
    return
  }
  chart.sinceS ??= ingress.fromS
  chart.sum = sum
  chart.count += 1
  chart.excess += excess
  chart.climbExcess += Math.log(ingress.climbPerH) - (median(lastOf(reference, 1)) ?? 0)
}

/** The memory is stored as text: three places are far below any scatter. */
const inThousandths = (value: number) => Math.round(1000 * value) / 1000

function learn(chart: LeakChart, ingress: Ingress): void {
  const own = ingress.isSettled ? chart.settled : chart.early
  // A window may be part of a leak once the chart is half way: a leak is no reference.
  if (chart.sum >= LIMIT / 2 && own.length >= LEARNING) return
  own.push([inThousandths(Math.log(ingress.litresPerH)), inThousandths(Math.log(ingress.climbPerH))])
  if (own.length > REFERENCE_MAX) own.shift()
}

export type HowJudged = { readonly isAmbientMeasured: boolean; readonly isOpen: boolean }

/** Takes a window; true if the rig's own ingress was known to judge it by. */
export function takeWindow(chart: LeakChart, ingress: Ingress, how: HowJudged): boolean {
  const reference = referenceOf(chart, ingress.isSettled)
  if (reference !== null) weigh(chart, ingress, how, reference)
  learn(chart, ingress)
  return reference !== null
}

/** A day that is odd for a reason of its own (a front, a hangar hosed down) is not enough, s. */
const LASTS_S = 36 * 3600
/** Climb over the rig's own, ln a window: a tenth is what a warm spell does to it. */
const CLIMB_MIN = 0.1

/**
 * The sum is over its limit, for more than a day, and the rests climb faster too. Beads that are used up, or air drawn
 * in before the pump, make runs longer; only air that gets into the engine makes the rests climb.
 */
export function isLeak(chart: LeakChart, atS: number): boolean {
  const { sum, count, climbExcess, sinceS } = chart
  if (sum <= LIMIT || sinceS === null) return false
  return atS - sinceS >= LASTS_S && climbExcess > CLIMB_MIN * count
}
