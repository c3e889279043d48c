import type { OpenAlert } from '../fold/outputs.ts'
import { median } from '../stats/quantile.ts'
import { isPreheated } from './drying.ts'
import {
  endlessLPerH,
  ENDLESS_TIMES,
  type Endless,
  followStanding,
  hasComeToRest,
  isOnWetEngine,
  mayHaveFlown,
} from './endless-run.ts'
import {
  type IngressWindow,
  breakWindow,
  emptyWindow,
  followAir,
  partOf,
  startWindow,
  takeRun,
} from './ingress-window.ts'
import {
  type LeakChart,
  isLeak,
  forgetEarly,
  isOrdinary,
  isOwnKnown,
  ownLPerH,
  raisedLPerH,
  withPart,
  startChart,
  takeWindow,
} from './leak-chart.ts'
import { type DrySpell, EARLY_DAYS, followDry, isDriedOut, mayBeTail } from './leak-tail.ts'
import type { EndedRun, Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { consequent } from './urgency.ts'
import { isWetRun } from './wet-run.ts'

const DAY_S = 86_400

/** Hangar air that a closed loop may take in, L/h: 0.08 /h of 65 L; a loop above it was never sealed. */
const NEVER_SEALED_L_PER_H = 5
const SEALED_L_PER_H = 3.5
/**
 * Litres are no better than what they are reckoned from: a flow known to a half a litre a minute and two sensors, each off by
 * 3 % RH, make a third; a stated climate is off by half, with the flow on top. So many times more is surely more.
 */
const MEASURED_FACTOR = 1.3
const STATED_FACTOR = 2
/** Below this share of the hangar's vapour, litres an hour are mostly the error of the hangar's air. */
const TRUSTED_DRIVE = 0.3
/** The middle of so many windows. */
const RECENT = 3

/** With less than this left the litres themselves are no longer believed. */
const BEADS_LEFT_DAYS = 10

type LeakMemory = Endless & {
  window: IngressWindow
  chart: LeakChart
  /** Ingress of the last windows whose drive can be trusted, L/h; and of the last of all. */
  trusted: number[]
  recent: number[]
  /** End of the last run that dried a wet engine, logged or not, s. */
  driedAtS: number | null
  /** When the pump was last kept on by a floor check, s. */
  keptOnS: number | null
  dry: DrySpell | null
}

const start = (): LeakMemory => ({
  window: startWindow(),
  chart: startChart(),
  trusted: [],
  recent: [],
  lastEndS: null,
  driedAtS: null,
  keptOnS: null,
  dry: null,
  standing: null,
})

/** When the engine was last wet, by the logbook or by what was seen, s. */
const wetAtS = (memory: LeakMemory, moment: Moment): number =>
  Math.max(moment.wettedAtS ?? Number.NEGATIVE_INFINITY, memory.driedAtS ?? Number.NEGATIVE_INFINITY)

/** Days since then. */
const dryDays = (memory: LeakMemory, run: EndedRun, moment: Moment): number =>
  Math.min((run.toS - wetAtS(memory, moment)) / DAY_S, run.daysSinceFlight ?? Number.POSITIVE_INFINITY)

function pushRecent(list: number[], value: number): void {
  list.push(value)
  if (list.length > RECENT) list.shift()
}

/** Days for which it has looked like a leak. */
function daysOf(memory: LeakMemory, moment: Moment): number {
  const { sinceS } = memory.chart
  return sinceS === null ? 0 : Math.max(1, Math.round((moment.atS - sinceS) / DAY_S))
}

/**
 * The loop's volume, L; `null` where litres are none: a run's water is the flow times its air, and what the loop holds more of than
 * at the run before comes on top. Where either is not stated a usual one stands for it, which cancels in a ratio alone.
 */
function volumeOfLitres({ settings }: Moment): number | null {
  return settings.flowLPerMin === null ? null : settings.volumeL
}

function holds(
  memory: LeakMemory,
  moment: Moment,
  open: OpenAlert | null,
  found: { readonly by: string; readonly litresPerH: number | null; readonly sinceS: number },
): Verdict {
  const own = ownLPerH(memory.chart)
  const { litresPerH } = found
  const timesUsual = litresPerH === null || own === null ? null : litresPerH / own
  const volumeL = volumeOfLitres(moment)
  const perH = litresPerH === null || volumeL === null ? null : litresPerH / volumeL
  const { lambdaRefPerH } = moment
  const byRatioPerH = timesUsual === null || lambdaRefPerH === null ? null : timesUsual * lambdaRefPerH
  return consequent(moment, open, {
    sinceS: found.sinceS,
    ingressPerH: perH ?? byRatioPerH,
    evidence: {
      by: found.by,
      ingressPerH: perH,
      usualPerH: own === null || volumeL === null ? null : own / volumeL,
      timesUsual,
      days: daysOf(memory, moment),
      ingressLPerH: volumeL === null ? null : litresPerH,
      isAmbientMeasured: moment.isAmbientMeasured,
    },
  })
}

/** Films and oil that were wet, logged or not, give back for days what this run carries out. */
function isStillDrying({ driedAtS }: LeakMemory, { atS }: Moment): boolean {
  return driedAtS !== null && atS - driedAtS < EARLY_DAYS * DAY_S
}

/**
 * Used-up beads send water back round the loop, and a balance that takes their air for dry counts it as hangar air. In a
 * comparison the climb of the rests, or water over `stop`, tells the two apart; litres in themselves are then not believed, nor when
 * the beads have been baked since.
 */
function areBeadsNearlyUsedUp(moment: Moment): boolean {
  const days = moment.forecast?.daysLeft ?? null
  return days !== null && days.low < BEADS_LEFT_DAYS
}

/** The same where no ledger says how much they have taken up. */
const mayBeadsBeUsedUp = (moment: Moment): boolean =>
  moment.forecast === null || moment.forecast.daysLeft === null || areBeadsNearlyUsedUp(moment)

/** The chart says so, and no flight's tail can have. */
const isTold = ({ dry }: LeakMemory, chart: LeakChart, moment: Moment): boolean =>
  !mayBeTail(dry) && isLeak(chart, moment.atS, !mayBeadsBeUsedUp(moment))

function verdictOf(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const { chart, recent, trusted } = memory
  const recentLPerH = median(recent)
  const sinceS = chart.sinceS ?? moment.ended.at(-1)?.fromS ?? moment.atS
  if (isTold(memory, chart, moment))
    return holds(memory, moment, open, { by: 'change', litresPerH: raisedLPerH(chart), sinceS })
  // Litres an hour are grams an hour over the hangar's moisture: a climate can be wrong by half, which cancels in a
  // comparison with the rig's own past but not here.
  const isClimateKnown = moment.isAmbientMeasured || moment.settings.ambient !== null
  const trustedLPerH = trusted.length === RECENT ? median(trusted) : null
  // The windows of a leak that is being mended are no loop's that was never sealed.
  const isMending = open?.evidence['by'] === 'change' && chart.sum > 0
  if (
    isClimateKnown &&
    !isMending &&
    moment.settings.flowLPerMin !== null &&
    trustedLPerH !== null &&
    trustedLPerH > NEVER_SEALED_L_PER_H * (moment.isAmbientMeasured ? MEASURED_FACTOR : STATED_FACTOR)
  )
    return holds(memory, moment, open, { by: 'never sealed', litresPerH: trustedLPerH, sinceS })
  if (!isOwnKnown(chart))
    return {
      kind: 'unknown',
      why: `it takes runs of a few days over ${EARLY_DAYS} days after a flight to know the rig's own ingress`,
    }
  // A loop that takes in more than others by its nature is back at its own; one that was never sealed has no own.
  const isSealed =
    open?.evidence['by'] !== 'never sealed' || recentLPerH === null || recentLPerH < SEALED_L_PER_H
  return chart.sum === 0 && isSealed ? CLEAR : SAME
}

function judgeEndless(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.fresh.length === 0) return SAME
  if (isOnWetEngine(moment) || mayHaveFlown(memory, moment)) memory.lastEndS = null
  // A warmed engine gives off water for a day, and the run rests at that.
  if (isPreheated(moment) || isStillDrying(memory, moment) || !hasComeToRest(memory, moment)) return SAME
  // Nearly always there is no such run, and then the rig's own ingress need not be looked up.
  const litresPerH = endlessLPerH(memory, moment)
  const own = litresPerH === null ? null : ownLPerH(memory.chart)
  if (litresPerH === null || own === null || litresPerH < ENDLESS_TIMES * own) return SAME
  return holds(memory, moment, open, {
    by: 'endless run',
    litresPerH,
    sinceS: moment.pump.sinceS ?? moment.atS,
  })
}

/**
 * A window is half a day, and proof need not wait until it is full: the runs so far count for the share of it that they
 * are.
 */
function judgePart(memory: LeakMemory, moment: Moment): Verdict {
  const run = moment.ended.at(-1)
  if (memory.chart.sum === 0 || run === undefined) return SAME
  const part = partOf(memory.window, dryDays(memory, run, moment))
  if (part === null) return SAME
  const chart = withPart(memory.chart, part, { isAmbientMeasured: moment.isAmbientMeasured, isOpen: false })
  if (chart === null || chart.sinceS === null || !isTold(memory, chart, moment)) return SAME
  return holds({ ...memory, chart }, moment, null, {
    by: 'change',
    litresPerH: raisedLPerH(chart),
    sinceS: chart.sinceS,
  })
}

/** Takes a run that ended; true if it filled a window. */
function take(memory: LeakMemory, run: EndedRun, moment: Moment, isOpen: boolean): boolean {
  // Kept on for hours past `stop` it has emptied films and oil as well, and they fill up again before the next: no balance
  // from one `stop` to another holds over either.
  if (memory.keptOnS !== null && memory.keptOnS >= run.fromS) {
    breakWindow(memory.window)
    return false
  }
  if (run.isWhole) memory.lastEndS = run.toS
  // Films and oil are full as long as the air over them is wet, in the cold for days: they give back from its end on.
  if (isWetRun(run, moment)) memory.driedAtS = run.toS
  const days = dryDays(memory, run, moment)
  if (days < EARLY_DAYS || isPreheated(moment)) {
    forgetEarly(memory.chart)
    emptyWindow(memory.window)
    takeRun(memory.window, { ...run, isWhole: false }, moment, 0)
    return false
  }
  const ingress = takeRun(memory.window, run, moment, days)
  if (ingress === null) return false
  const excess = takeWindow(memory.chart, ingress, { isAmbientMeasured: moment.isAmbientMeasured, isOpen })
  if (memory.dry !== null && isOrdinary(excess)) memory.dry.hasRested = true
  pushRecent(memory.recent, ingress.litresPerH)
  // Litres in themselves are multiplied by the cold besides, and wait until the days are over at that rate.
  const isTrusted =
    ingress.isSettled &&
    isDriedOut(memory.dry) &&
    ingress.driveShare >= TRUSTED_DRIVE &&
    !areBeadsNearlyUsedUp(moment)
  if (isTrusted) pushRecent(memory.trusted, ingress.litresPerH)
  return true
}

function step(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  followAir(memory.window, moment)
  memory.dry = followDry(memory.dry, wetAtS(memory, moment), moment)
  followStanding(memory, moment)
  if (moment.isFloorCheck) memory.keptOnS = moment.atS
  if (moment.ended.length === 0) return open === null ? judgeEndless(memory, moment, open) : SAME
  let isNew = false
  for (const run of moment.ended) if (take(memory, run, moment, open !== null)) isNew = true
  if (isNew) return verdictOf(memory, moment, open)
  return open === null ? judgePart(memory, moment) : SAME
}

/**
 * Hangar air gets in faster than it used to, or than any closed loop lets it. Needs cycles; better with a temperature and
 * an ambient sensor; litres need a stated flow and volume. Over when the chart is back at zero.
 */
export const leak: Rule<LeakMemory> = {
  name: 'leak',
  start,
  step,
  pause: (memory) => breakWindow(memory.window),
}
