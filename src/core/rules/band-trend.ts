import { theilSen } from '../stats/theil-sen.ts'
import { isGivingBack, slowestPerH } from './drying.ts'
import type { Moment, Sample } from './rule.ts'

const HOUR_S = 3600

/**
 * The trend, carried on for two of the rig's slowest time constants (oil and dead ends give back water long after the air has
 * been changed), brings less than this, % RH, and does not bring the air to `stop`: it has settled.
 */
const FURTHER_DROP_PCT = 0.5
const AHEAD_TIME_CONSTANTS = 2
/**
 * A tail of several stores, oil and dead ends, falls on for about as long as it has fallen, so a trend that brings the air to `stop`
 * within the time that the run has taken so far is left to do so. Longer than this it is the day's: a warm afternoon, h.
 */
const HEADS_MAX_H = 3
/** What a flight left in films and oil comes out over days: there the fall of half a day and a night is the tail's, h. */
const HEADS_WET_MAX_H = 12
/** Readings of the trend: at least 6 and an hour; thinned to one in five minutes. */
const TREND_MIN = 6
const TREND_MAX = 13
const TREND_SPACING_S = 295
/** Readings of the window that may be missing at its edges. */
const WINDOW_SHARE = 0.8
/** A trend of the last hour is also made by the sun on the hangar; where a tail may still fall it has to last a quarter of the day, s. */
const WINDOW_WET_S = 6 * HOUR_S
/** A window longer than half a day is none. */
const WINDOW_MAX_S = 12 * HOUR_S

/** The last readings of a long run, oldest first, at most `TREND_MAX`. */
export type BandTrend = {
  atS: number[]
  pct: number[]
  /** Vapour density of the same, g/m3; `null` without a temperature. */
  gm3: (number | null)[]
}

const mean = (values: readonly number[]) =>
  values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length)

/**
 * How long a trend has to be to show what is asked of it, s: equal readings of a sensor in steps say only that the air fell
 * by less than a step in all that time, so the window is as long as makes a step a slope too small to matter.
 */
export function windowS(moment: Moment): number {
  const stepS =
    (HOUR_S * moment.sensor.stepPct * AHEAD_TIME_CONSTANTS) / settlingPerH(moment) / FURTHER_DROP_PCT
  return Math.min(WINDOW_MAX_S, Math.max(isGivingBack(moment) ? WINDOW_WET_S : HOUR_S, stepS))
}

/** Takes a reading in; old ones go while `trendS` and six readings are left without them. */
export function keepTrend(trend: BandTrend, sample: Sample, humidityPct: number, trendS: number): void {
  const spacingS = Math.max(TREND_SPACING_S, (trendS / (TREND_MAX - 1)) * (TREND_SPACING_S / 300))
  if (sample.atS - (trend.atS.at(-1) ?? -Infinity) < spacingS) return
  trend.atS.push(sample.atS)
  trend.pct.push(humidityPct)
  trend.gm3.push(sample.tempC === null ? null : sample.densityGm3)
  while (trend.atS.length > TREND_MAX || isOldestSpare(trend, sample.atS, trendS)) {
    trend.atS.shift()
    trend.pct.shift()
    trend.gm3.shift()
  }
}

function isOldestSpare(trend: BandTrend, nowS: number, trendS: number): boolean {
  const second = trend.atS[1]
  return trend.atS.length > TREND_MIN && second !== undefined && nowS - second >= trendS
}

/** Whether there is enough of a trend to be judged. */
export function isTrend({ atS }: BandTrend, moment: Moment): boolean {
  return atS.length >= TREND_MIN && (atS.at(-1) ?? 0) - (atS[0] ?? 0) >= WINDOW_SHARE * windowS(moment)
}

/**
 * The slowest drying of this rig, 1/h: no faster than its air is changed, where flow and volume are known. Short runs of a
 * box that stands beside the engine teach rates that the engine itself never has.
 */
export function settlingPerH(moment: Moment): number {
  const slowest = slowestPerH(moment)
  const { flowLPerMin, volumeL } = moment.settings
  if (flowLPerMin === null || volumeL === null || moment.kPerH.low <= 0) return slowest
  const changesPerH = (60 * flowLPerMin) / volumeL
  return slowest * Math.min(1, changesPerH / moment.kPerH.low)
}

/** How far a trend is carried on, h. */
const aheadH = (moment: Moment) => AHEAD_TIME_CONSTANTS / settlingPerH(moment)

/** Whether a slope, % RH an hour, is none. Air that rises has not settled either: films, oil or a rig that is off. */
function isFlat(slopePctPerH: number, moment: Moment, abovePct: number): boolean {
  return Math.abs(slopePctPerH) * aheadH(moment) < Math.min(FURTHER_DROP_PCT, abovePct)
}

/**
 * The slope of air that has settled `abovePct` above `stop` in a run of `ranH` hours, % RH an hour; `null` while it goes on. Over day and
 * night a balance with films keeps RH and one with hangar air keeps the vapour: either stands for itself, and what dries loses both. The
 * vapour as % RH at today's temperature.
 */
export function settledSlope(
  trend: BandTrend,
  moment: Moment,
  { abovePct, ranH }: { readonly abovePct: number; readonly ranH: number },
): number | null {
  const line = theilSen(trend.atS, trend.pct)
  if (line === null) return null
  const slope = line.slope * HOUR_S
  const headsH = Math.min(isGivingBack(moment) ? HEADS_WET_MAX_H : HEADS_MAX_H, ranH)
  // `abovePct` is of the middle of the window, and what falls is left with less by now.
  const sinceMiddleH = ((trend.atS.at(-1) ?? 0) - (trend.atS[0] ?? 0)) / HOUR_S / 2
  if (slope * (Math.max(aheadH(moment), headsH) + sinceMiddleH) <= -abovePct) return null
  if (isFlat(slope, moment, abovePct)) return slope
  const gm3: number[] = []
  for (const density of trend.gm3) if (density !== null) gm3.push(density)
  const vapour = gm3.length < trend.atS.length ? null : theilSen(trend.atS, gm3)
  if (vapour === null) return null
  const vapourSlope = (vapour.slope * HOUR_S * mean(trend.pct)) / mean(gm3)
  return isFlat(vapourSlope, moment, abovePct) ? slope : null
}
