import type { OpenAlert } from '../fold/outputs.ts'
import { median } from '../stats/quantile.ts'
import { isAfterFlight, isPreheated, slowestPerH } from './drying.ts'
import {
  type IngressWindow,
  breakWindow,
  emptyWindow,
  followAir,
  partOf,
  hangarGm3,
  startWindow,
  takeRun,
} from './ingress-window.ts'
import {
  type LeakChart,
  isLeak,
  forgetEarly,
  isOwnKnown,
  ownLPerH,
  raisedLPerH,
  withPart,
  startChart,
  takeWindow,
} from './leak-chart.ts'
import type { EndedRun, Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { consequent } from './urgency.ts'
import { isWetRun } from './wet-run.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/** Films are dry and oil gives off evenly from here on; before, a flight's water drowns what gets in. */
const EARLY_DAYS = 3

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

/**
 * A leak so large that the pump never comes down to `stop` gives no cycles. A run on a dry engine that has been level for
 * hours, on a rig whose last run ended, while the beads are not used up by the ledger: the loop balances
 * F (rho - floor) with the air that gets in.
 */
const ENDLESS_H = 8
const ENDLESS_TIME_CONSTANTS = 4
const ENDLESS_TIMES = 3
const LAST_END_S = 3 * DAY_S
/**
 * Level: within a fifth for two hours; the slowest loop that is built, 0.37 /h, takes half of what it still has to go in that
 * time.
 */
const LEVEL_H = 2
const LEVEL_SHARE = 0.2

/** Beads that brought a run to its end so lately, and have longer than that left, are not what keeps this one going. */
const ENDLESS_LEFT_DAYS = 3
/** With less than this left the litres themselves are no longer believed. */
const BEADS_LEFT_DAYS = 10

/** Between what the air of the run that lasts has been since when, g/m3. */
type Standing = { runFromS: number; lowGm3: number; highGm3: number; levelFromS: number }

type LeakMemory = {
  window: IngressWindow
  chart: LeakChart
  /** Ingress of the last windows whose drive can be trusted, L/h; and of the last of all. */
  trusted: number[]
  recent: number[]
  lastEndS: number | null
  /** End of the last run that dried a wet engine, logged or not, s. */
  driedAtS: number | null
  /** When the pump was last kept on by a floor check, s. */
  keptOnS: number | null
  standing: Standing | null
}

const start = (): LeakMemory => ({
  window: startWindow(),
  chart: startChart(),
  trusted: [],
  recent: [],
  lastEndS: null,
  driedAtS: null,
  keptOnS: null,
  standing: null,
})

/** Days since the engine was last wet, by the logbook or by what was seen. */
function dryDays(memory: LeakMemory, run: EndedRun, moment: Moment): number {
  const wetAtS = Math.max(
    moment.wettedAtS ?? Number.NEGATIVE_INFINITY,
    memory.driedAtS ?? Number.NEGATIVE_INFINITY,
  )
  return Math.min((run.toS - wetAtS) / DAY_S, run.daysSinceFlight ?? Number.POSITIVE_INFINITY)
}

function pushRecent(list: number[], value: number): void {
  list.push(value)
  if (list.length > RECENT) list.shift()
}

/** Days for which it has looked like a leak. */
function daysOf(memory: LeakMemory, moment: Moment): number {
  const { sinceS } = memory.chart
  return sinceS === null ? 0 : Math.max(1, Math.round((moment.atS - sinceS) / DAY_S))
}

function holds(
  memory: LeakMemory,
  moment: Moment,
  open: OpenAlert | null,
  found: { readonly by: string; readonly litresPerH: number | null; readonly sinceS: number },
): Verdict {
  const { volumeL } = moment.settings
  const own = ownLPerH(memory.chart)
  const { litresPerH } = found
  const perH = litresPerH === null || volumeL === null ? null : litresPerH / volumeL
  return consequent(moment, open, {
    sinceS: found.sinceS,
    ingressPerH: perH,
    evidence: {
      by: found.by,
      ingressPerH: perH,
      usualPerH: own === null || volumeL === null ? null : own / volumeL,
      timesUsual: litresPerH === null || own === null ? null : litresPerH / own,
      days: daysOf(memory, moment),
      ingressLPerH: litresPerH,
      isAmbientMeasured: moment.isAmbientMeasured,
    },
  })
}

/** Films and oil that were wet, logged or not, give back for days what this run carries out. */
function isStillDrying({ driedAtS }: LeakMemory, { atS }: Moment): boolean {
  return driedAtS !== null && atS - driedAtS < EARLY_DAYS * DAY_S
}

/** To take the hoses off, fly and hook up again takes an hour at least, min. */
const FLIGHT_MIN = 60

/** What nobody saw for so long may have been a flight: the run after it dries what that left. */
function mayHaveFlown({ lastEndS }: LeakMemory, { backAtS, offMinBefore }: Moment): boolean {
  return backAtS !== null && offMinBefore >= FLIGHT_MIN && backAtS >= (lastEndS ?? 0)
}

function followStanding(memory: LeakMemory, { pump, fresh }: Moment): void {
  if (pump.state !== 'run' || pump.sinceS === null) {
    memory.standing = null
    return
  }
  for (const { place, atS, densityGm3 } of fresh) {
    if (place !== 'return' || densityGm3 === null || atS < pump.sinceS) continue
    const { standing } = memory
    if (standing === null || standing.runFromS !== pump.sinceS) {
      memory.standing = {
        runFromS: pump.sinceS,
        lowGm3: densityGm3,
        highGm3: densityGm3,
        levelFromS: atS,
      }
      continue
    }
    standing.lowGm3 = Math.min(standing.lowGm3, densityGm3)
    standing.highGm3 = Math.max(standing.highGm3, densityGm3)
    if (standing.lowGm3 >= (1 - LEVEL_SHARE) * standing.highGm3) continue
    standing.lowGm3 = densityGm3
    standing.highGm3 = densityGm3
    standing.levelFromS = atS
  }
}

/** Whether the air of the run that lasts has come to rest. */
function hasComeToRest({ standing }: LeakMemory, { atS }: Moment): boolean {
  return standing !== null && atS - standing.levelFromS >= LEVEL_H * HOUR_S
}

/** Hangar air that explains a run which has come to rest above `stop`, L/h; `null` where it says nothing. */
function endlessLPerH(memory: LeakMemory, moment: Moment): number | null {
  const { pump, settings, wetGate, floorGm3, forecast, fillFromS } = moment
  if (pump.state !== 'run' || pump.sinceS === null || wetGate.isOpen || isAfterFlight(moment)) return null
  // What the beads before a bake did not bring down says nothing once fresh ones are in.
  const hours = (moment.atS - Math.max(pump.sinceS, fillFromS ?? pump.sinceS)) / HOUR_S
  if (hours < ENDLESS_H || hours * slowestPerH(moment) < ENDLESS_TIME_CONSTANTS) return null
  const densityGm3 = moment.latest.return?.densityGm3 ?? null
  const hangar = hangarGm3(moment)
  if (settings.flowLPerMin === null || densityGm3 === null || hangar === null || floorGm3 === null)
    return null
  if (memory.lastEndS === null || pump.sinceS - memory.lastEndS > LAST_END_S) return null
  if (forecast?.daysLeft === null || forecast === null || forecast.daysLeft.low < ENDLESS_LEFT_DAYS)
    return null
  const aboveGm3 = densityGm3 - Math.max(0, floorGm3.mid)
  const belowGm3 = hangar - densityGm3
  return belowGm3 > 0.2 * hangar ? (settings.flowLPerMin * 60 * Math.max(0, aboveGm3)) / belowGm3 : null
}

/**
 * Used-up beads send water back round the loop, and a balance that takes their air for dry counts it as hangar air. In a
 * comparison the climb of the rests tells the two apart; litres in themselves are then not believed, nor when the beads have been
 * baked since.
 */
function areBeadsNearlyUsedUp(moment: Moment): boolean {
  const days = moment.forecast?.daysLeft ?? null
  return days !== null && days.low < BEADS_LEFT_DAYS
}

function verdictOf(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const { chart, recent, trusted } = memory
  const recentLPerH = median(recent)
  const sinceS = chart.sinceS ?? moment.ended.at(-1)?.fromS ?? moment.atS
  if (isLeak(chart, moment.atS, !areBeadsNearlyUsedUp(moment)))
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

/** After so long in a run nothing but water in the engine holds the air that high above the limit, h. */
const SURGE_H = 2
const WET_TIMES = 1.5

/** The run that lasts is one on a wet engine: what it comes to rest at is what the engine still gives off. */
function isOnWetEngine({ pump, atS, latest, settings }: Moment): boolean {
  if (pump.state !== 'run' || pump.sinceS === null || atS - pump.sinceS < SURGE_H * HOUR_S) return false
  return (latest.return?.humidityPct ?? 0) > WET_TIMES * settings.band.startPct
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
  if (chart === null || chart.sinceS === null || !isLeak(chart, moment.atS, !areBeadsNearlyUsedUp(moment)))
    return SAME
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
  takeWindow(memory.chart, ingress, { isAmbientMeasured: moment.isAmbientMeasured, isOpen })
  pushRecent(memory.recent, ingress.litresPerH)
  const isTrusted = ingress.isSettled && ingress.driveShare >= TRUSTED_DRIVE && !areBeadsNearlyUsedUp(moment)
  if (isTrusted) pushRecent(memory.trusted, ingress.litresPerH)
  return true
}

function step(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  followAir(memory.window, moment)
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
 * an ambient sensor; litres need a stated flow. Over when the chart is back at zero.
 */
export const leak: Rule<LeakMemory> = {
  name: 'leak',
  start,
  step,
  pause: (memory) => breakWindow(memory.window),
}
