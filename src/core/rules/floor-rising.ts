import type { OpenAlert } from '../fold/outputs.ts'
import { causeShares } from './cause-shares.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

/**
 * Run-time ratio R: the 20 % quantile of normalised run minutes over the last 14 days (at least 8 runs) against that of
 * this fill's first 14 days. Stored water and cold lengthen some runs, spent beads lengthen all, so the short ones are
 * compared. Physically R = 2.2 means that the distance between the exit air and the band has about halved: beads in their last
 * fifth, a leak, or a sensor. Weeks of wet oil and other weather move R by up to 1.5; what lies above that has to be told from
 * the error that the rig's own scatter and the season give R.
 */
const RAISE_RATIO = 2.2
const WEATHER_RATIO = 1.5
/**
 * One look in a hundred by chance; the windows share most of their runs, so a fill is two or three independent looks, 0.02 a
 * rig-year. With a ledger that says that the exit air is as the bake left it, what remains is a leak on the suction
 * side or a sensor that has drifted, one in five to ten years beside ten looks a year: one in two thousand has to be asked
 * of each for such an alert to be right nine times in ten. In standard errors of a quantity that scatters about them as Student's t
 * with 4 degrees of freedom does, which ln R of fresh beads was seen to: its 99 and 99.95 % quantiles (textbook tables; the closed
 * form is in the tests).
 */
export const SIGMAS = 3.747
export const SIGMAS_AGAINST_LEDGER = 8.61
/** Probability of exit air on the rise under which the ledger speaks against the beads. */
const LEDGER_DOUBTS = 0.1
/**
 * For so long every run has to leave it above, s: a few odd runs at the edge of the window move a quantile of eight for a day,
 * beads that are used up for good. Nobody has to come earlier for a floor that rises over weeks.
 */
const STANDS_S = 3 * 86_400
/** Clean again well below: a ratio that hovers at 2.2 is one alert. */
const OVER_RATIO = 1.6

/** A floor check shows exit air too close to `stop` for the next weeks; over once a later check is clearly below. */
const CHECK_RAISE_SHARE = 0.7
const CHECK_OVER_SHARE = 0.55
/** What box walls and films add to the exit air after four hours of pumping, % RH: median 1.5, x/ 1.8. */
const CHECK_DELTA_PCT = 1.5

type FloorRisingMemory = {
  /** When the ratio or the check first stood above its limit, s; `null` while it does not. */
  aboveSinceS: number | null
  by: 'run-time' | 'floor-check' | null
}

function holds(memory: FloorRisingMemory, moment: Moment): Verdict {
  const { forecast } = moment
  return {
    kind: 'holds',
    urgency: 'visit',
    sinceS: memory.aboveSinceS ?? moment.atS,
    evidence: {
      by: memory.by,
      runTimeRatio: moment.runTimeRatio,
      limitRatio: limitRatio(moment),
      floorCheckPct: moment.floorCheckPct?.mid ?? null,
      stopPct: moment.settings.band.stopPct,
      ...causeShares(moment),
      daysLeftMid: forecast?.daysLeft?.mid ?? null,
    },
  }
}

/** The ratio from which it is none of the weather and none of chance. */
function limitRatio({ beadsOdds, runTimeRatioLnSd }: Moment): number {
  const isDoubted = beadsOdds !== null && beadsOdds.front < LEDGER_DOUBTS
  const sigmas = isDoubted ? SIGMAS_AGAINST_LEDGER : SIGMAS
  return Math.max(RAISE_RATIO, WEATHER_RATIO * Math.exp(sigmas * (runTimeRatioLnSd ?? 0)))
}

/** Above the limit the first reading counts; between the limits nothing changes. */
function weigh(
  memory: FloorRisingMemory,
  moment: Moment,
  seen: {
    readonly by: 'run-time' | 'floor-check'
    readonly isHigh: boolean
    readonly isLow: boolean
    readonly sinceS: number
  },
  open: OpenAlert | null,
): Verdict {
  if (seen.isLow) {
    memory.aboveSinceS = null
    memory.by = null
    return CLEAR
  }
  if (!seen.isHigh) {
    if (open !== null) return SAME
    memory.aboveSinceS = null
    memory.by = null
    return CLEAR
  }
  memory.aboveSinceS ??= seen.sinceS
  memory.by ??= seen.by
  if (open === null && seen.by === 'run-time' && moment.atS - memory.aboveSinceS < STANDS_S) return SAME
  return holds(memory, moment)
}

function judge(memory: FloorRisingMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (open !== null && moment.fillFromS !== null && moment.fillFromS > open.raisedAtS) {
    memory.aboveSinceS = null
    memory.by = null
    return { kind: 'clear', evidence: { endedBy: 'new fill' } }
  }
  const check = moment.floorCheckPct
  if (check !== null) {
    const exitPct = check.mid - CHECK_DELTA_PCT
    const { stopPct } = moment.settings.band
    const isHigh = exitPct - check.se > CHECK_RAISE_SHARE * stopPct
    const isLow = exitPct + check.se < CHECK_OVER_SHARE * stopPct
    return weigh(memory, moment, { by: 'floor-check', isHigh, isLow, sinceS: moment.atS }, open)
  }
  const closed = moment.closed.at(-1)
  // A check that showed wet air is answered by a better one: runs compare with the first of this fill, and may never have
  // been shorter.
  if (closed === undefined || (open !== null && memory.by === 'floor-check')) return SAME
  const ratio = moment.runTimeRatio
  if (ratio === null)
    return { kind: 'unknown', why: 'it takes 8 runs in the first 14 days of a fill and 8 in the last 14' }
  const isHigh = ratio > limitRatio(moment)
  return weigh(
    memory,
    moment,
    { by: 'run-time', isHigh, isLow: ratio < OVER_RATIO, sinceS: closed.runFromS },
    open,
  )
}

/**
 * The floor that runs are heading for has risen: beads, a leak or the sensor. Needs runs between two fixed readings, or a
 * floor check. Over below a ratio of 1.6 where runs had told it, after a better floor check, or with a new fill.
 */
export const floorRising: Rule<FloorRisingMemory> = {
  name: 'floor-rising',
  start: () => ({ aboveSinceS: null, by: null }),
  step: judge,
  pause: () => {},
}
