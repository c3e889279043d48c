import { type Ingress, WINDOW_H } from './ingress-window.ts'
import { LEFT_DAYS, type Seen, type Usual, excessOf, seenOf, usualOf } from './leak-usual.ts'

/**
 * Tells a leak from the rig's own scatter: a CUSUM of the log likelihood ratio between "ln of the ingress is `SHIFT`
 * above the rig's own, give or take `SHIFT_SD`" and "it is its own", both normal with the scatter learned from the rig. A
 * leak five times the rig's own is ln 5 = 1.6; breathing and what seeps into the box do not grow with it, so that 1.3 arrives;
 * less of it on some days and more of a larger one. Were the shift known, a day at twice the own would speak against a leak
 * on a steady rig as loudly as one at ten times speaks for it.
 */
export type LeakChart = {
  /** The rig's own windows in order: over five days after a flight, and three to five. */
  settled: Seen[]
  early: Seen[]
  sum: number
  /** The windows in `sum`, and their excess by water, by the least of it and by climb; the excess of the last. */
  count: number
  excess: number
  leastExcess: number
  climbExcess: number
  lastExcess: number
  /** The last was one of the days right after a flight; of all such in the sum, ln L/h, and days since then. */
  isEarly: boolean
  earlyLn: number
  earlyDays: number
  earlyCount: number
  sinceS: number | null
}

const NO_SUM = {
  sum: 0,
  count: 0,
  excess: 0,
  leastExcess: 0,
  climbExcess: 0,
  lastExcess: 0,
  isEarly: false,
  earlyLn: 0,
  earlyDays: 0,
  earlyCount: 0,
  sinceS: null,
} as const

export const startChart = (): LeakChart => ({ settled: [], early: [], ...NO_SUM })

const SHIFT = 1.3
const SHIFT_SD = 0.5
/**
 * What a season or a spell of weeks adds to all days alike, ln: it is no scatter that averages away, so it is taken off
 * each day. A tenth where the hangar's air is measured (films and breathing go with temperature; what flights leave and the
 * error of a small drive are counted apart); three times that where a stated climate stands for moist and dry spells, in which
 * the dew point is off by some 5 K, a third of the vapour, for a week.
 */
const DRIFT_MEASURED = 0.1
const DRIFT_STATED = 0.3
/**
 * Wald's bound: a sum of log likelihood ratios passes h by chance once in e^h starts. With two windows at least, each
 * counting 0.6 h at most (2.6 sigma twice, as for any rule here), and 200 windows a year of which a sixth leave zero,
 * h = 4 is 0.6 a rig-year for normal independent windows; the drift taken off makes it a tenth of that. Simulated rigs,
 * whose windows are neither, come to 0.05 and 0.08.
 */
const LIMIT = 4
const STEP_SHARE = 0.6
/**
 * A window that holds a day and a night has no hour of the day in its scatter, and most of the weather of a long rest has
 * evened out: one of them may be proof alone, at 4 sigma of the rig's own and nearly three times its own.
 */
const WHOLE_DAY_S = 20 * 3600
const WHOLE_DAY_SHARE = 1.02
/** More would only delay the end; an open alert ends after four windows in order. */
const SUM_MAX = 1.3 * LIMIT
const FALL_SHARE = 0.35

/** The rig's own: so many windows at least, at most, and until when every window teaches, whatever it says. */
const REFERENCE_MIN = 3
const REFERENCE_MAX = 30
const EARLY_MAX = 20
const LEARNING = 10

/** Whether there are windows enough to say what is the rig's own. */
export function isOwnKnown({ settled, early }: LeakChart): boolean {
  return settled.length + early.length >= REFERENCE_MIN
}

function usualNow(chart: LeakChart): Usual | null {
  return isOwnKnown(chart) ? usualOf([...chart.early, ...chart.settled]) : null
}

/** The rig's own ingress, L/h; `null` until it is known. */
export function ownLPerH(chart: LeakChart): number | null {
  const usual = usualNow(chart)
  return usual === null ? null : Math.exp(usual.litres.mid)
}

/** What the windows in the sum took in, L/h, the rig's own times their mean excess; `null` without any. */
export function raisedLPerH(chart: LeakChart): number | null {
  const own = ownLPerH(chart)
  return own === null || chart.count === 0 ? null : own * Math.exp(chart.excess / chart.count)
}

function resetSum(chart: LeakChart): void {
  Object.assign(chart, NO_SUM)
}

/**
 * The windows that end with `ingress` began right after a flight, and what they take in fades as what that left in the oil does rather
 * than standing as a leak would: by more than half of what is due since their middle.
 */
function isFading({ isEarly, earlyLn, earlyDays, earlyCount }: LeakChart, ingress: Ingress): boolean {
  if (!isEarly || !ingress.isSettled) return false
  const faded = earlyLn / earlyCount - Math.log(ingress.litresPerH)
  return faded > (ingress.dryDays - earlyDays / earlyCount) / LEFT_DAYS / 2
}

function followEarly(chart: LeakChart, ingress: Ingress): void {
  chart.isEarly = !ingress.isSettled
  if (ingress.isSettled) return
  chart.earlyLn += Math.log(ingress.litresPerH)
  chart.earlyDays += ingress.dryDays
  chart.earlyCount += 1
}

/** A flight: what its forerunner left may have made the last windows of the days after that, and is no longer there. */
export function forgetEarly(chart: LeakChart): void {
  if (chart.isEarly) resetSum(chart)
}

/** The share of a whole window that a part of one is: it may add so much of what a window may, and scatters more. */
const partIn = ({ fromS, toS }: Ingress) => Math.min(1, (toS - fromS) / (WINDOW_H * 3600))

function shareOf(ingress: Ingress): number {
  const isWholeDay = ingress.isSettled && ingress.toS - ingress.fromS >= WHOLE_DAY_S
  return isWholeDay ? WHOLE_DAY_SHARE : STEP_SHARE * partIn(ingress)
}

/** ln of how much likelier a leak makes an excess than the rig's own scatter does, ln litres. */
function likelihoodRatio(excess: number, variance: number): number {
  const wide = variance + SHIFT_SD ** 2
  // Below this a wide normal would gain on a narrow one again: dry days are no sign of a leak.
  const over = Math.max(excess, (-SHIFT * variance) / SHIFT_SD ** 2)
  return over ** 2 / (2 * variance) - (over - SHIFT) ** 2 / (2 * wide) + Math.log(variance / wide) / 2
}

/** Adds a window to the sum; its excess over the rig's usual, ln litres. */
function weigh(chart: LeakChart, ingress: Ingress, how: HowJudged, usual: Usual): number {
  // Of water that is drying up only what is still there after five days may be a leak.
  if (!how.isOpen && isFading(chart, ingress)) resetSum(chart)
  const { litres, least, climb, variance } = excessOf(usual, ingress)
  const drift = how.isAmbientMeasured ? DRIFT_MEASURED : DRIFT_STATED
  const ratio = partIn(ingress) * likelihoodRatio(litres - drift, variance)
  const lowest = how.isOpen ? -FALL_SHARE * LIMIT : Number.NEGATIVE_INFINITY
  const step = Math.max(lowest, Math.min(shareOf(ingress) * LIMIT, ratio))
  const sum = Math.min(SUM_MAX, chart.sum + step)
  if (sum <= 0) {
    resetSum(chart)
    return litres
  }
  chart.sinceS ??= ingress.fromS
  chart.sum = sum
  chart.count += 1
  chart.excess += litres
  chart.leastExcess += least
  chart.climbExcess += climb
  chart.lastExcess = litres
  followEarly(chart, ingress)
  return litres
}

function learn(chart: LeakChart, ingress: Ingress): void {
  const own = ingress.isSettled ? chart.settled : chart.early
  // A window may be part of a leak once the chart is half way: a leak is no reference. What a flight leaves is learned
  // all the same: it is over in days, and a median does not follow one flight.
  if (ingress.isSettled && chart.sum >= LIMIT / 2 && own.length >= LEARNING) return
  own.push(seenOf(ingress))
  if (own.length > (ingress.isSettled ? REFERENCE_MAX : EARLY_MAX)) own.shift()
}

export type HowJudged = { readonly isAmbientMeasured: boolean; readonly isOpen: boolean }

/** Takes a window; its excess over the rig's own, ln litres, `null` while that is not known. */
export function takeWindow(chart: LeakChart, ingress: Ingress, how: HowJudged): number | null {
  const usual = usualNow(chart)
  const excess = usual === null ? null : weigh(chart, ingress, how, usual)
  learn(chart, ingress)
  return excess
}

/** A window nearer to the rig's own than to a leak; while it is learned, each is. */
export const isOrdinary = (excess: number | null) => excess === null || excess < SHIFT / 2

/** The chart as it would be with a part of a window: what that says is not kept, the window will say it. */
export function withPart(chart: LeakChart, part: Ingress, how: HowJudged): LeakChart | null {
  const usual = usualNow(chart)
  if (usual === null) return null
  const trial = { ...chart }
  weigh(trial, part, how, usual)
  return trial
}

/**
 * What is odd about a day (an oil change, a hangar hosed down) is over with it, and what goes with the hour of the day has been round, s.
 */
const LASTS_S = 24 * 3600
/**
 * And a single rest is proof only if it ended four times too soon, and lasted two days: a front, or a run that a jump of its sensor made
 * long, is as good as that for once. Of a shorter rest the next run tells, as far as it goes.
 */
const ONE_REST_EXCESS = Math.log(4)
const ONE_REST_S = 48 * 3600
/**
 * Climb over the rig's own, ln a window: a tenth is what a warm spell does to it, and air drawn in before the pump, which
 * gets into the engine only while it runs, a third at 6 %. A leak of five times lifts climb and water alike.
 */
const CLIMB_MIN = 0.3
/**
 * The last window, because water that dries up falls and a leak does not: 2.7 times the own at least. Weather moves a rig's
 * ingress by x/ 1.5 from week to week, and that is 2.5 deviations of it; a leak of five times arrives as less on one rig in
 * twenty. The mean of the windows in the sum may be a little less, because oil takes up a share of a leak's first
 * days: two and a half times, which no season makes.
 * While a flight's water may be in it, ten times.
 */
const EXCESS_MIN = 1
const EXCESS_MEAN_MIN = Math.log(2.5)
const EXCESS_EARLY_MIN = Math.log(10)
/** The least of the water over the rig's own, ln a window: it is a bound, and has only the scatter of a mean to pass. */
const LEAST_MIN = 0.2
/**
 * Where the beads may be used up either has to show all of it: what they send back may itself be over `stop` then, and lifts the least
 * by a fifth to a half while runs still end.
 */
const ALONE_MIN = EXCESS_MEAN_MIN

/**
 * The sum is over its limit, for a day, and that air got into the engine. Beads that are used up, or air drawn in before the pump, make
 * runs longer: they do not make the rests climb, and with them there is hardly more water over `stop` than ever. Where runs are long the
 * rests may be mostly what comes back out of oil and films, and climb hardly faster with a leak; where the band is narrow little is over
 * `stop`. One of the two has to show it. `areBeadsFresh`: where they may be used up all of the water says nothing, and the climb or what is
 * over `stop` has to say it alone.
 */
export function isLeak(chart: LeakChart, atS: number, areBeadsFresh: boolean): boolean {
  const { sum, count, excess, leastExcess, climbExcess, lastExcess, isEarly, sinceS } = chart
  if (sum <= LIMIT || sinceS === null || atS - sinceS < LASTS_S) return false
  if (count === 1 && (lastExcess <= ONE_REST_EXCESS || atS - sinceS < ONE_REST_S)) return false
  const enough = isEarly ? EXCESS_EARLY_MIN : EXCESS_MEAN_MIN
  const climbEnough = areBeadsFresh ? CLIMB_MIN : ALONE_MIN
  const leastEnough = areBeadsFresh ? LEAST_MIN : ALONE_MIN
  const isInEngine = climbExcess > climbEnough * count || leastExcess > leastEnough * count
  return excess > enough * count && lastExcess > EXCESS_MIN && isInEngine
}
