import type { Cycle, OpenAlert } from '../fold/outputs.ts'
import { cusumStep } from '../stats/control-charts.ts'
import { median } from '../stats/quantile.ts'
import { rounded } from '../stats/rounded.ts'
import { isAfterFlight, isPreheated, slowestPerH } from './drying.ts'
import {
  type Ingress,
  type IngressWindow,
  emptyWindow,
  followAir,
  hangarGm3,
  startWindow,
  takeCycle,
} from './ingress-window.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { consequent } from './urgency.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/** The rig's own ingress: the median of its first four weeks, from at least so many days, at most so many kept. */
const REFERENCE_S = 28 * DAY_S
const REFERENCE_MIN = 5
const REFERENCE_MAX = 30

/** Oil and films refill the air for days after a flight, more after a long one: those days tell nothing about the seal. */
const AFTER_FLIGHT_DAYS = 5

/**
 * CUSUM on ln(ingress/own), a day at a time, whose scatter (weather, films, noise) is about 0.4. The leak to be caught is
 * five times the rig's own ingress, ln 5 = 1.6; half of that is the slack that tells it soonest, and it leaves a season
 * or an ambient that is off by a factor of two below zero. One day counts 1.5 at most, so two have to say it: each of
 * them 3.6 times the scatter away, and days in a row are half alike.
 */
const SLACK = 0.7
/**
 * A leak makes runs longer and rests shorter; beads that are used up, or air that gets in before the pump, make runs
 * longer only. So the day counts at most what the rests say, and a factor of two.
 */
const REST_ALLOWANCE = Math.log(2)
const STEP_MAX = 1.5
const LIMIT = 1.5
/** More would only delay the end: four days in order bring it down. */
const SUM_MAX = 2.5

/** The least that a humidity sensor can tell in a day, L/h: a rig more sealed than that is taken as that. */
const LEAST_L_PER_H = 0.05

/** Hangar air that a closed loop may take in, L/h: 0.08 /h of 65 L; a loop above it was never sealed. */
const NEVER_SEALED_L_PER_H = 5
const SEALED_L_PER_H = 3.5
/** The middle of so many days. */
const RECENT = 3

/**
 * A leak so large that the pump never comes down to `stop` gives no cycles. A run on a dry engine that has been level for
 * hours, on a rig whose last run ended, while the beads are not used up by the ledger: the loop balances
 * F (rho - floor) with the air that gets in.
 */
const ENDLESS_H = 8
const ENDLESS_TIME_CONSTANTS = 4
const ENDLESS_TIMES = 3
const BEADS_LEFT_DAYS = 10
const LAST_END_S = 3 * DAY_S

type LeakMemory = {
  firstAtS: number | null
  window: IngressWindow
  reference: number[]
  restsH: number[]
  recent: number[]
  sum: number
  /** When the sum last left zero: the beginning of that day, s. */
  sinceS: number | null
  days: number
  lastEndS: number | null
}

const start = (): LeakMemory => ({
  firstAtS: null,
  window: startWindow(),
  reference: [],
  restsH: [],
  recent: [],
  sum: 0,
  sinceS: null,
  days: 0,
  lastEndS: null,
})

function learn(memory: LeakMemory, atS: number, { litresPerH, restH }: Ingress): void {
  memory.firstAtS ??= atS
  memory.recent.push(litresPerH)
  if (memory.recent.length > RECENT) memory.recent.shift()
  // While the chart stands above zero the day may be part of a leak, and a leak is no reference.
  const isYoung = atS - memory.firstAtS <= REFERENCE_S || memory.reference.length < REFERENCE_MIN
  if (!isYoung || memory.sum > 0 || memory.reference.length >= REFERENCE_MAX) return
  memory.reference.push(rounded(litresPerH, 4))
  memory.restsH.push(rounded(restH, 4))
}

function count(memory: LeakMemory, fromS: number, { litresPerH, restH }: Ingress, ownLPerH: number): void {
  const byWater = Math.log(Math.max(litresPerH, ownLPerH / 10) / ownLPerH)
  const byRests = Math.log((median(memory.restsH) ?? restH) / Math.max(0.1, restH)) + REST_ALLOWANCE
  const wasZero = memory.sum === 0
  memory.sum = Math.min(SUM_MAX, cusumStep(memory.sum, Math.min(byWater, byRests, STEP_MAX), SLACK))
  if (memory.sum === 0) {
    memory.sinceS = null
    memory.days = 0
    return
  }
  if (wasZero) memory.sinceS = fromS
  memory.days += 1
}

function ownOf(memory: LeakMemory): number | null {
  if (memory.reference.length < REFERENCE_MIN) return null
  return Math.max(median(memory.reference) ?? 0, LEAST_L_PER_H)
}

function isUsable(cycle: Cycle, moment: Moment): boolean {
  const isDry = cycle.daysSinceFlight === null || cycle.daysSinceFlight > AFTER_FLIGHT_DAYS
  return isDry && !cycle.afterFlight && !isAfterFlight(moment) && !isPreheated(moment)
}

function holds(
  memory: LeakMemory,
  moment: Moment,
  open: OpenAlert | null,
  found: { readonly by: string; readonly litresPerH: number | null; readonly sinceS: number },
): Verdict {
  const { volumeL } = moment.settings
  const own = ownOf(memory)
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
      days: memory.days,
      ingressLPerH: litresPerH,
      isAmbientMeasured: moment.isAmbientMeasured,
    },
  })
}

/** Hangar air that explains a run which has come to rest above `stop`, L/h; `null` where it says nothing. */
function endlessLPerH(memory: LeakMemory, moment: Moment): number | null {
  const { pump, settings, wetGate, floorGm3, forecast } = moment
  if (pump.state !== 'run' || pump.sinceS === null || wetGate.isOpen || isAfterFlight(moment)) return null
  const hours = (moment.atS - pump.sinceS) / HOUR_S
  if (hours < ENDLESS_H || hours * slowestPerH(moment) < ENDLESS_TIME_CONSTANTS) return null
  const densityGm3 = moment.latest.return?.densityGm3 ?? null
  const hangar = hangarGm3(memory.window, moment)
  if (settings.flowLPerMin === null || densityGm3 === null || hangar === null || floorGm3 === null)
    return null
  if (memory.lastEndS === null || pump.sinceS - memory.lastEndS > LAST_END_S) return null
  if (forecast?.daysLeft === null || forecast === null || forecast.daysLeft.low < BEADS_LEFT_DAYS) return null
  const aboveGm3 = densityGm3 - Math.max(0, floorGm3.mid)
  const belowGm3 = hangar - densityGm3
  return belowGm3 > 0.2 * hangar ? (settings.flowLPerMin * 60 * Math.max(0, aboveGm3)) / belowGm3 : null
}

function verdictOf(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const recentLPerH = memory.recent.length === 0 ? null : median(memory.recent)
  const sinceS = memory.sinceS ?? moment.closed.at(-1)?.runToS ?? moment.atS
  if (memory.sum > LIMIT)
    return holds(memory, moment, open, { by: 'change', litresPerH: recentLPerH, sinceS })
  const isFull = memory.recent.length === RECENT
  // Litres an hour are grams an hour over the hangar's moisture: an assumed climate can be wrong by half, which cancels
  // in a comparison with the rig's own past but not here.
  const isClimateKnown = moment.isAmbientMeasured || moment.settings.ambient !== null
  if (
    isFull &&
    isClimateKnown &&
    recentLPerH !== null &&
    recentLPerH > NEVER_SEALED_L_PER_H &&
    moment.settings.flowLPerMin !== null
  )
    return holds(memory, moment, open, { by: 'never sealed', litresPerH: recentLPerH, sinceS })
  if (ownOf(memory) === null)
    return {
      kind: 'unknown',
      why: `it takes ${REFERENCE_MIN} days over 5 days after a flight to know the rig's own ingress`,
    }
  const isOver = memory.sum === 0 && (recentLPerH === null || recentLPerH < SEALED_L_PER_H)
  return isOver ? CLEAR : SAME
}

function judgeEndless(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.fresh.length === 0) return SAME
  // Nearly always there is no such run, and then the rig's own ingress need not be looked up.
  const litresPerH = endlessLPerH(memory, moment)
  const own = litresPerH === null ? null : ownOf(memory)
  if (litresPerH === null || own === null || litresPerH < ENDLESS_TIMES * own) return SAME
  return holds(memory, moment, open, {
    by: 'endless run',
    litresPerH,
    sinceS: moment.pump.sinceS ?? moment.atS,
  })
}

function step(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  followAir(memory.window, moment)
  if (moment.closed.length === 0) return open === null ? judgeEndless(memory, moment, open) : SAME
  let isNew = false
  for (const cycle of moment.closed) {
    memory.lastEndS = cycle.runToS
    if (!isUsable(cycle, moment)) {
      emptyWindow(memory.window)
      continue
    }
    const fromS = memory.window.fromS ?? cycle.runFromS
    const ingress = takeCycle(memory.window, cycle, moment)
    if (ingress === null) continue
    const own = ownOf(memory)
    if (own !== null) count(memory, fromS, ingress, own)
    learn(memory, cycle.atS, ingress)
    isNew = true
  }
  return isNew ? verdictOf(memory, moment, open) : SAME
}

/**
 * Hangar air gets in faster than it used to, or than any closed loop lets it. Needs cycles; better with a temperature and
 * an ambient sensor; litres need a stated flow. Over when the chart is back at zero.
 */
export const leak: Rule<LeakMemory> = { name: 'leak', start, step, pause: () => {} }
