import type { OpenAlert } from '../fold/outputs.ts'
import { median } from '../stats/quantile.ts'
import { rounded } from '../stats/rounded.ts'
import { longestOf } from '../trace/water-budget.ts'
import { type BandTrend, isTrend, keepTrend, settledSlope, settlingPerH, windowS } from './band-trend.ts'
import { causeShares } from './cause-shares.ts'
import { floorHighPct, isGivingBack, isMaybeOff, readingErrorPct, returnPct, slownessOf } from './drying.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
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
 * The middle of the trend's readings, so many standard errors of one reading above `stop`. One reading would not do: of all
 * those of a run that comes down to `stop` slowly, some are that far above it by noise.
 */
const ABOVE_STOP_SIGMAS = 2.5
/**
 * A pump that is only inferred has moved its air where that has come down by a fifth, which a box that warms by 4 K does not do. Air that
 * has never come down is for no-drop to tell.
 */
const UNSEEN_FELL_TO = 0.8
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

type BandMemory = BandTrend & {
  runFromS: number | null
  /** From when the run is timed, s. */
  timedFromS: number
  topPct: number
  lowPct: number
  /** When the last ordinary runs began that came down to `stop`, at most `REACHED_MIN`, oldest first, s. */
  reachedS: number[]
  /** How long the last flights took until a run came down to `stop`, h at 15 degC, oldest first, at most `DRIED_KEPT`. */
  driedH: number[]
  /** The hook-up or flight that the last of them was counted from, s. */
  driedFromS: number
}

const NO_RUN = { runFromS: null, timedFromS: 0, topPct: 0, lowPct: 100 } as const

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

/** Since when its films and oil give back: a plateau that the flight's drops held for two days is no tail of two days. */
const tailFromS = (moment: Moment) => Math.max(onAgainS(moment), moment.driedAtS ?? 0)

/** The first run on a wetted engine that came down to `stop`: so long its water took. */
function learnDried(memory: BandMemory, moment: Moment, reachedS: number): void {
  const fromS = onAgainS(moment)
  if (moment.unansweredFlightAtS !== null || !isGivingBack(moment)) return
  if (fromS <= memory.driedFromS || reachedS <= fromS) return
  memory.driedFromS = fromS
  const tailS = Math.max(0, reachedS - tailFromS(moment))
  memory.driedH.push(rounded(tailS / HOUR_S / slownessOf(moment), 2))
  if (memory.driedH.length > DRIED_KEPT) memory.driedH.shift()
}

/** Whether the engine has had longer to dry than its flights ever take, as far as this rig has shown. */
function isOverdue({ driedH }: BandMemory, moment: Moment): boolean {
  const usualH = longestOf(driedH)
  if (usualH === null) return false
  return (moment.atS - tailFromS(moment)) / HOUR_S > slownessOf(moment) * Math.max(DRIED_LEAST_H, usualH)
}

/** What a flight left in films and oil explains a run that stands above `stop`, until runs have come down to it all the same. */
function isExplained(memory: BandMemory, moment: Moment): boolean {
  if (!isGivingBack(moment)) return false
  const { reachedS } = memory
  if (moment.unansweredFlightAtS !== null) return true
  const hasReached = reachedS.length >= REACHED_MIN && (reachedS[0] ?? 0) > onAgainS(moment)
  return !hasReached && !isOverdue(memory, moment)
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
    if (humidityPct === null) continue
    memory.topPct = Math.max(memory.topPct, humidityPct)
    memory.lowPct = Math.min(memory.lowPct, humidityPct)
    keepTrend(memory, sample, humidityPct, trendS)
  }
  if (open !== null || moment.fresh.length === 0 || moment.wetGate.isOpen || isExplained(memory, moment))
    return SAME
  return judge(memory, moment)
}

function judge(memory: BandMemory, moment: Moment): Verdict {
  const { runFromS } = memory
  const nowPct = memory.pct.at(-1)
  const levelPct = median(memory.pct)
  if (runFromS === null || nowPct === undefined || levelPct === null || !isTrend(memory, moment)) return SAME
  // A pump that is only inferred may have stopped where its air came near `stop`, between two readings.
  const isSeen = moment.pump.basis !== 'inferred'
  if (!isSeen && levelPct > UNSEEN_FELL_TO * memory.topPct) return SAME
  const abovePct = (isSeen ? levelPct : memory.lowPct) - moment.switchStopPct
  if (abovePct <= ABOVE_STOP_SIGMAS * readingErrorPct(moment)) return SAME
  const ranH = (moment.atS - memory.timedFromS) / HOUR_S
  // Cheapest first: no run that is in order lasts three time constants without being near its end.
  if (ranH * moment.kPerH.low < LONGER_THAN) return SAME
  const neededH = expectedH(memory, moment)
  if (neededH === null || ranH <= LONGER_THAN * neededH) return SAME
  const slope = settledSlope(memory, moment, { abovePct, ranH })
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
