import type { Cycle, OpenAlert } from '../fold/outputs.ts'
import { cusumStep } from '../stats/control-charts.ts'
import { median } from '../stats/quantile.ts'
import { isPreheated } from './drying.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { consequent } from './urgency.ts'

const DAY_S = 86_400

/** The rig's own ingress: the median of its first four weeks, from at least so many rests, at most so many kept. */
const REFERENCE_S = 28 * DAY_S
const REFERENCE_MIN = 8
const REFERENCE_MAX = 48

/** Oil and films refill the air for days after a flight, more after a long one: those rests tell nothing about the seal. */
const AFTER_FLIGHT_DAYS = 5

/**
 * CUSUM on ln(lambda/lambda_ref), whose scatter from rest to rest (wind, warmth, sensor) is about 0.45. The leak to be
 * caught is five times the rig's own ingress, ln 5 = 1.6; half of that is the slack that tells it soonest, and it leaves
 * a season or an ambient that is off by a factor of two below zero. One rest counts 1.5 at most, so three have to say it.
 * In units of the scatter: slack 1.8, limit 4.4; a chart of independent rests passes it about once in exp(2 x 1.8 x 4.4),
 * 7e6 rests, and even with the reference a third too low about once in 4e4: 0.02 a rig-year at 1,000 rests.
 */
const SLACK = 0.8
const STEP_MAX = 1.5
const LIMIT = 2
/** More would only delay the end: five rests in order bring it down. */
const SUM_MAX = 4

/** Hangar air that a closed loop may take in, L/h: 0.08 /h of 65 L; a loop above it was never sealed. */
const NEVER_SEALED_L_PER_H = 5
const SEALED_L_PER_H = 3.5
/** The middle of so many rests. */
const RECENT = 5

type LeakMemory = {
  firstAtS: number | null
  reference: number[]
  recent: number[]
  sum: number
  /** When the sum last left zero: the end of that run, s. */
  sinceS: number | null
  rests: number
}

const start = (): LeakMemory => ({
  firstAtS: null,
  reference: [],
  recent: [],
  sum: 0,
  sinceS: null,
  rests: 0,
})

function learn(memory: LeakMemory, cycle: Cycle, ingressPerH: number): void {
  memory.firstAtS ??= cycle.runFromS
  memory.recent.push(ingressPerH)
  if (memory.recent.length > RECENT) memory.recent.shift()
  // While the chart stands above zero the rest may be part of a leak, and a leak is no reference.
  const isYoung = cycle.atS - memory.firstAtS <= REFERENCE_S || memory.reference.length < REFERENCE_MIN
  if (isYoung && memory.sum === 0 && memory.reference.length < REFERENCE_MAX)
    memory.reference.push(ingressPerH)
}

function count(memory: LeakMemory, cycle: Cycle, ingressPerH: number, referencePerH: number): void {
  const ratio = Math.max(ingressPerH, referencePerH / 10) / referencePerH
  const wasZero = memory.sum === 0
  memory.sum = Math.min(SUM_MAX, cusumStep(memory.sum, Math.min(Math.log(ratio), STEP_MAX), SLACK))
  if (memory.sum === 0) {
    memory.sinceS = null
    memory.rests = 0
    return
  }
  if (wasZero) memory.sinceS = cycle.runToS
  memory.rests += 1
}

function referenceOf(memory: LeakMemory): number | null {
  if (memory.reference.length < REFERENCE_MIN) return null
  // A sealed rig's ingress may come out at nothing or below: the smallest that a humidity sensor can tell in a day.
  return Math.max(median(memory.reference) ?? 0, 0.002)
}

function isUsable(cycle: Cycle, moment: Moment): cycle is Cycle & { ingressPerH: number } {
  const isDry = cycle.daysSinceFlight === null || cycle.daysSinceFlight > AFTER_FLIGHT_DAYS
  return cycle.ingressPerH !== null && isDry && !cycle.afterFlight && !isPreheated(moment)
}

function verdictOf(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const recentPerH = memory.recent.length < 3 ? null : median(memory.recent)
  const referencePerH = referenceOf(memory)
  const { volumeL } = moment.settings
  const recentLPerH = recentPerH === null || volumeL === null ? null : recentPerH * volumeL
  const isFull = memory.recent.length === RECENT
  const neverSealed = isFull && recentLPerH !== null && recentLPerH > NEVER_SEALED_L_PER_H
  if (memory.sum > LIMIT || neverSealed) {
    return consequent(moment, open, {
      sinceS: memory.sinceS ?? moment.closed.at(-1)?.runToS ?? moment.atS,
      ingressPerH: recentPerH,
      evidence: {
        by: memory.sum > LIMIT ? 'change' : 'never sealed',
        ingressPerH: recentPerH,
        usualPerH: referencePerH,
        timesUsual: recentPerH === null || referencePerH === null ? null : recentPerH / referencePerH,
        rests: memory.rests,
        ingressLPerH: recentLPerH,
        isAmbientMeasured: moment.isAmbientMeasured,
      },
    })
  }
  if (referencePerH === null)
    return {
      kind: 'unknown',
      why: `it takes ${REFERENCE_MIN} rests over 5 days after a flight to know the rig's own ingress`,
    }
  const isOver = memory.sum === 0 && (recentLPerH === null || recentLPerH < SEALED_L_PER_H)
  return isOver ? CLEAR : SAME
}

function step(memory: LeakMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.closed.length === 0) return SAME
  let isNew = false
  for (const cycle of moment.closed) {
    if (!isUsable(cycle, moment)) continue
    const referencePerH = referenceOf(memory)
    if (referencePerH !== null) count(memory, cycle, cycle.ingressPerH, referencePerH)
    learn(memory, cycle, cycle.ingressPerH)
    isNew = true
  }
  return isNew ? verdictOf(memory, moment, open) : SAME
}

/**
 * Hangar air gets in faster than it used to, or than any closed loop lets it. Needs cycles with an ingress (the return
 * humidity, better with a temperature and an ambient sensor). Over when the chart is back at zero.
 */
export const leak: Rule<LeakMemory> = { name: 'leak', start, step, pause: () => {} }
