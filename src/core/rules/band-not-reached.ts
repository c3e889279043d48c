import type { OpenAlert } from '../fold/outputs.ts'
import { median } from '../stats/quantile.ts'
import { rounded } from '../stats/rounded.ts'
import { theilSen } from '../stats/theil-sen.ts'
import { longestOf } from '../trace/water-budget.ts'
import { floorHighPct, isGivingBack, isMaybeOff, returnPct, slownessOf, slowestPerH } from './drying.ts'
import { causeShares } from './cause-shares.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { SAME } from './rule.ts'

const HOUR_S = 3600

/**
 * Three times as long as the slowest drying of this rig would need from where the run began to `stop`. The 5 % quantile of
 * the rate is passed by one run in twenty; three times slower than that is another two of its scatters (x/ 1.6), so 1e-4
 * a run before the trend and the distance below have their say, each at 1 % or better.
 */
const LONGER_THAN = 3
/** A floor learned above `stop` would make the wait endless: it is taken to leave this much, % RH. */
const FLOOR_UNDER_STOP_PCT = 0.5
/**
 * The trend, carried on for two of the rig's slowest time constants (oil and dead ends give back water long after the air has
 * been changed), brings less than this, % RH, and does not bring the air to `stop`: it has settled.
 */
const FURTHER_DROP_PCT = 0.5
const AHEAD_TIME_CONSTANTS = 2
/**
 * The middle of the trend's readings, so many standard errors of one reading above `stop`. One reading would not do: of all
 * those of a run that comes down to `stop` slowly, some are that far above it by noise.
 */
const ABOVE_STOP_SIGMAS = 2.5
/**
 * A tail of several stores, oil and dead ends, falls on for about as long as it has fallen, so a trend that brings the air to `stop`
 * within the time that the run has taken so far is left to do so. Longer than this it is the day's: a warm afternoon, h.
 */
const HEADS_MAX_H = 3
/**
 * A pump that is only inferred has moved its air where that has come down by a fifth, which a box that warms by 4 K does not do. Air that
 * has never come down is for no-drop to tell.
 */
const UNSEEN_FELL_TO = 0.8
/** Readings of the trend: at least 6 and an hour; thinned to one in five minutes. */
const TREND_MIN = 6
const TREND_MAX = 13
const TREND_SPACING_S = 295
/** Readings of the window that may be missing at its edges. */
const WINDOW_SHARE = 0.8
/**
 * So many ordinary runs that came down to `stop` since the engine was wetted: films and oil, fuller then than now, did not hold
 * the air above it, and one run alone may have been cut short by an outlet.
 */
const REACHED_MIN = 2
/**
 * How long the flights of this rig take to dry tells the same sooner: the water of flights differs by a factor of 1.6 to 2, and so does
 * its time, so that of the next exceeds so many times the longest of those known once in sixty (`waterBudgetG`). Half a day is left
 * in any case: several flights that brought no water say nothing of one that does.
 */
const DRIED_LEAST_H = 12
/** Flights whose drying is remembered; the rig is not today what it was a year ago. */
const DRIED_KEPT = 8
/** A window longer than half a day is none. */
const WINDOW_MAX_S = 12 * HOUR_S

type BandMemory = {
  runFromS: number | null
  /** From when the run is timed, s. */
  timedFromS: number
  topPct: number
  lowPct: number
  /** The last readings of a long run, oldest first, at most `TREND_MAX`. */
  atS: number[]
  pct: number[]
  /** Vapour density of the same, g/m3; `null` without a temperature. */
  gm3: (number | null)[]
  /** When the last ordinary runs began that came down to `stop`, at most `REACHED_MIN`, oldest first, s. */
  reachedS: number[]
  /** How long the last flights took until a run came down to `stop`, h at 15 degC, oldest first, at most `DRIED_KEPT`. */
  driedH: number[]
  /** The hook-up or flight that the last of them was counted from, s. */
  driedFromS: number
}

const NO_RUN = { runFromS: null, timedFromS: 0, topPct: 0, lowPct: 100 } as const

const mean = (values: readonly number[]) =>
  values.reduce((sum, value) => sum + value, 0) / Math.max(1, values.length)

const start = (): BandMemory => ({
  ...NO_RUN,
  atS: [],
  pct: [],
  gm3: [],
  reachedS: [],
  driedH: [],
  driedFromS: 0,
})

function forget(memory: BandMemory): void {
  if (memory.runFromS !== null) Object.assign(memory, NO_RUN, { atS: [], pct: [], gm3: [] })
}

/** How far above `stop` a run may end that has come down to it, % RH. */
const tolerancePct = ({ settings, sensor }: Moment) => Math.max(settings.switchTolPct, 2 * sensor.sigmaPct)

function followEnded(memory: BandMemory, moment: Moment): void {
  for (const run of moment.ended) {
    const hasReached = run.endPct !== null && run.endPct <= moment.switchStopPct + tolerancePct(moment)
    if (hasReached) learnDried(memory, moment, run.toS)
    if (!run.isWhole || !hasReached) continue
    memory.reachedS.push(run.fromS)
    if (memory.reachedS.length > REACHED_MIN) memory.reachedS.shift()
  }
}

/** Since when the rig is on an engine that was wetted: beside it the box alone is dried in minutes, which says nothing. */
const onAgainS = ({ wettedAtS, backAtS }: Moment) => Math.max(wettedAtS ?? 0, backAtS ?? 0)

/** The first run on a wetted engine that came down to `stop`: so long its water took. */
function learnDried(memory: BandMemory, moment: Moment, reachedS: number): void {
  const fromS = onAgainS(moment)
  if (moment.unansweredFlightAtS !== null || !isGivingBack(moment)) return
  if (fromS <= memory.driedFromS || reachedS <= fromS) return
  memory.driedFromS = fromS
  memory.driedH.push(rounded((reachedS - fromS) / HOUR_S / slownessOf(moment), 2))
  if (memory.driedH.length > DRIED_KEPT) memory.driedH.shift()
}

/** Whether the engine has had longer to dry than its flights ever take, as far as this rig has shown. */
function isOverdue({ driedH }: BandMemory, moment: Moment): boolean {
  const usualH = longestOf(driedH)
  if (usualH === null) return false
  return (moment.atS - onAgainS(moment)) / HOUR_S > slownessOf(moment) * Math.max(DRIED_LEAST_H, usualH)
}

/** What a flight left in films and oil explains a run that stands above `stop`, until runs have come down to it all the same. */
function isExplained(memory: BandMemory, moment: Moment): boolean {
  if (!isGivingBack(moment)) return false
  const { reachedS } = memory
  if (moment.unansweredFlightAtS !== null) return true
  const hasReached = reachedS.length >= REACHED_MIN && (reachedS[0] ?? 0) > onAgainS(moment)
  return !hasReached && !isOverdue(memory, moment)
}

/**
 * How long a trend has to be to show what is asked of it, s: equal readings of a sensor in steps say only that the air fell
 * by less than a step in all that time, so the window is as long as makes a step a slope too small to matter.
 */
function windowS(moment: Moment): number {
  const stepS =
    (HOUR_S * moment.sensor.stepPct * AHEAD_TIME_CONSTANTS) / settlingPerH(moment) / FURTHER_DROP_PCT
  return Math.min(WINDOW_MAX_S, Math.max(HOUR_S, stepS))
}

function keep(memory: BandMemory, sample: Sample, humidityPct: number, trendS: number): void {
  memory.topPct = Math.max(memory.topPct, humidityPct)
  memory.lowPct = Math.min(memory.lowPct, humidityPct)
  const spacingS = Math.max(TREND_SPACING_S, (trendS / (TREND_MAX - 1)) * (TREND_SPACING_S / 300))
  if (sample.atS - (memory.atS.at(-1) ?? -Infinity) < spacingS) return
  memory.atS.push(sample.atS)
  memory.pct.push(humidityPct)
  memory.gm3.push(sample.tempC === null ? null : sample.densityGm3)
  // Old ones go while an hour and six readings are left without them.
  while (memory.atS.length > TREND_MAX || isOldestSpare(memory, sample.atS, trendS)) {
    memory.atS.shift()
    memory.pct.shift()
    memory.gm3.shift()
  }
}

function isOldestSpare(memory: BandMemory, nowS: number, trendS: number): boolean {
  const second = memory.atS[1]
  return memory.atS.length > TREND_MIN && second !== undefined && nowS - second >= trendS
}

/**
 * The slowest drying of this rig, 1/h: no faster than its air is changed, where flow and volume are known. Short runs of a
 * box that stands beside the engine teach rates that the engine itself never has.
 */
function settlingPerH(moment: Moment): number {
  const slowest = slowestPerH(moment)
  const { flowLPerMin, volumeL } = moment.settings
  if (flowLPerMin === null || volumeL === null || moment.kPerH.low <= 0) return slowest
  const changesPerH = (60 * flowLPerMin) / volumeL
  return slowest * Math.min(1, changesPerH / moment.kPerH.low)
}

/** Hours in which the slowest drying gets from the run's first air to `stop`; `null` if the run began below it. */
function expectedH(memory: BandMemory, moment: Moment): number | null {
  const stopPct = moment.switchStopPct
  const floorPct = Math.min(floorHighPct(moment), stopPct - FLOOR_UNDER_STOP_PCT)
  if (memory.topPct <= stopPct) return null
  return Math.log((memory.topPct - floorPct) / (stopPct - floorPct)) / settlingPerH(moment)
}

/** A run that came down to `stop` and ended is the proof of the opposite. */
function endOfRun(memory: BandMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const wasRunning = memory.runFromS !== null
  const lastPct = moment.latest.return?.humidityPct ?? null
  forget(memory)
  if (open === null || !wasRunning || moment.pump.state !== 'rest' || lastPct === null) return SAME
  const reached = lastPct <= moment.switchStopPct + tolerancePct(moment)
  return reached ? { kind: 'clear', evidence: { endedBy: 'stop reached', nowPct: lastPct } } : SAME
}

/** A run is timed from where it can first be judged: its start, the end of the wet plateau, the end of what explained it. */
function begin(memory: BandMemory, moment: Moment): void {
  forget(memory)
  memory.runFromS = moment.pump.sinceS
  memory.timedFromS = moment.atS
}

function step(memory: BandMemory, moment: Moment, open: OpenAlert | null): Verdict {
  followEnded(memory, moment)
  // Air straight from the beads: a run that ends in it has not come down to `stop`.
  if (moment.isLoopTest) {
    forget(memory)
    return SAME
  }
  if (moment.pump.state !== 'run') return endOfRun(memory, moment, open)
  // What looks like a run may be hoses that lie open in the hangar: whatever they read, no pump is at work.
  if (moment.wetGate.isOpen || moment.unhookedAtS !== null || isMaybeOff(moment)) {
    forget(memory)
    return SAME
  }
  if (memory.runFromS !== moment.pump.sinceS) begin(memory, moment)
  const trendS = windowS(moment)
  for (const sample of moment.fresh) {
    const humidityPct = returnPct(sample)
    if (humidityPct !== null) keep(memory, sample, humidityPct, trendS)
  }
  if (open !== null || moment.fresh.length === 0 || moment.wetGate.isOpen || isExplained(memory, moment))
    return SAME
  return judge(memory, moment)
}

/** How far a trend is carried on, h. */
const aheadH = (moment: Moment) => AHEAD_TIME_CONSTANTS / settlingPerH(moment)

/** Whether a slope, % RH an hour, is none. Air that rises has not settled either: films, oil or a rig that is off. */
function isFlat(slopePctPerH: number, moment: Moment, abovePct: number): boolean {
  return Math.abs(slopePctPerH) * aheadH(moment) < Math.min(FURTHER_DROP_PCT, abovePct)
}

/**
 * The slope of air that has settled, % RH an hour; `null` while it goes on. Over day and night a balance with films keeps RH and
 * one with hangar air keeps the vapour: either stands for itself, and what dries loses both. The vapour as % RH at today's
 * temperature.
 */
function settledSlope(memory: BandMemory, moment: Moment, abovePct: number, ranH: number): number | null {
  const trend = theilSen(memory.atS, memory.pct)
  if (trend === null) return null
  const slope = trend.slope * HOUR_S
  if (slope * Math.max(aheadH(moment), Math.min(HEADS_MAX_H, ranH)) <= -abovePct) return null
  if (isFlat(slope, moment, abovePct)) return slope
  const gm3: number[] = []
  for (const density of memory.gm3) if (density !== null) gm3.push(density)
  const meanPct = mean(memory.pct)
  const vapour = gm3.length < memory.atS.length ? null : theilSen(memory.atS, gm3)
  if (vapour === null) return null
  const vapourSlope = (vapour.slope * HOUR_S * meanPct) / mean(gm3)
  return isFlat(vapourSlope, moment, abovePct) ? slope : null
}

function judge(memory: BandMemory, moment: Moment): Verdict {
  const { runFromS } = memory
  const nowPct = memory.pct.at(-1)
  const levelPct = median(memory.pct)
  if (runFromS === null || nowPct === undefined || levelPct === null || memory.pct.length < TREND_MIN)
    return SAME
  if ((memory.atS.at(-1) ?? 0) - (memory.atS[0] ?? 0) < WINDOW_SHARE * windowS(moment)) return SAME
  // A pump that is only inferred may have stopped where its air came near `stop`, between two readings.
  const isSeen = moment.pump.basis !== 'inferred'
  if (!isSeen && levelPct > UNSEEN_FELL_TO * memory.topPct) return SAME
  const abovePct = (isSeen ? levelPct : memory.lowPct) - moment.switchStopPct
  const { sigmaPct, stepPct } = moment.sensor
  if (abovePct <= ABOVE_STOP_SIGMAS * Math.hypot(sigmaPct, stepPct / Math.sqrt(12))) return SAME
  const ranH = (moment.atS - memory.timedFromS) / HOUR_S
  // Cheapest first: no run that is in order lasts three time constants without being near its end.
  if (ranH * moment.kPerH.low < LONGER_THAN) return SAME
  const neededH = expectedH(memory, moment)
  if (neededH === null || ranH <= LONGER_THAN * neededH) return SAME
  const slope = settledSlope(memory, moment, abovePct, ranH)
  if (slope === null) return SAME
  return {
    kind: 'holds',
    urgency: 'visit',
    sinceS: runFromS,
    evidence: {
      runFromS,
      fromPct: memory.topPct,
      nowPct,
      nowAtS: memory.atS.at(-1) ?? moment.atS,
      tempC: moment.latest.return?.tempC ?? null,
      stopPct: moment.switchStopPct,
      ranH,
      neededH,
      slopePctPerH: slope,
      ...causeShares(moment),
    },
  }
}

/**
 * A long run that has settled above `stop`. Needs runs and the return humidity; silent on the wet plateau and for five
 * days after a flight, or until two runs since then have come down to `stop`. Over after one run that ends at `stop`.
 */
export const bandNotReached: Rule<BandMemory> = {
  name: 'band-not-reached',
  start,
  step,
  pause: forget,
}
