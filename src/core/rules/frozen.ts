import type { OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600

/** A day holds one warm and one cold turn. */
const FOR_S = 24 * HOUR_S
/** What should have been seen, in steps of the sensor, and a sensor's usual 0.1 % at least. */
const STEPS = 5
const STEP_MIN_PCT = 0.1

/**
 * Equal neighbours in a row: with p0 their learned share, n of them by chance have p0^n. A millionth per stretch, at a
 * few hundred stretches a year, is far inside the budget; p0 is capped so that a very coarse sensor is judged within
 * ten days of five-minute readings.
 */
const LOG_CHANCE = Math.log(1e-6)
const STUCK_SHARE_MAX = 0.995

/**
 * A coarse or quiet sensor repeats itself for hours, and then counting equal neighbours takes weeks. Its own longest
 * stretch says more: lengths of stretches have an exponential tail, and two weeks hold fifty and more of them, so the
 * next that is three times the longest has a chance of (1/50)^3. It has weathered days and runs, so that no change need
 * be predicted besides.
 */
const TIMES_LONGEST = 3
const LEARNING_S = 14 * 24 * HOUR_S
/** A stretch longer than this was none of a living sensor. */
const LONGEST_MAX_S = 7 * 24 * HOUR_S

/** In a sealed engine RH follows the temperature by 1.5 % of itself per kelvin: walls hold most of the water. */
const PER_KELVIN = 0.015
/** Ingress of the tightest rig, 1/h: a third of the learned median, a tenth of the usual one before. */
const INGRESS_SHARE = 1 / 3
const INGRESS_PRIOR_PER_H = 0.0025
/** A run of two time constants takes the air most of the way to its floor. */
const RUN_TIME_CONSTANTS = 2

/** A sensor's end stops are not frozen: a reported 0 means 0 or less, 100 means saturated. */
const LOW_END_PCT = 0.05
const HIGH_END_PCT = 99.5

const CLEAN_CHANGES = 2

type FrozenMemory = {
  pct: number | null
  fromS: number
  lastS: number
  readings: number
  tempLowC: number | null
  tempHighC: number | null
  runS: number
  /** Longest stretch that ended by itself, s, and since when they are looked at. */
  longestS: number
  learningFromS: number | null
  /** Changes of the reading since the alert was raised. */
  changes: number
}

function start(): FrozenMemory {
  return {
    pct: null,
    fromS: 0,
    lastS: 0,
    readings: 0,
    tempLowC: null,
    tempHighC: null,
    runS: 0,
    longestS: 0,
    learningFromS: null,
    changes: 0,
  }
}

function begin(memory: FrozenMemory, sample: Sample, humidityPct: number): void {
  memory.pct = humidityPct
  memory.fromS = sample.atS
  memory.lastS = sample.atS
  memory.readings = 1
  memory.tempLowC = null
  memory.tempHighC = null
  memory.runS = 0
}

function follow(memory: FrozenMemory, moment: Moment, isOpen: boolean): void {
  // Liquid water keeps the air over it at one RH: on the wet plateau neither a run nor the temperature has to move the reading.
  const isHeldByWater = moment.wetGate.isOpen
  for (const sample of moment.fresh) {
    if (sample.place !== 'return' || sample.humidityPct === null) continue
    if (sample.humidityPct !== memory.pct) {
      memory.learningFromS ??= sample.atS
      if (memory.pct !== null) {
        memory.changes += 1
        const stretchS = memory.lastS - memory.fromS
        if (!isOpen && stretchS <= LONGEST_MAX_S) memory.longestS = Math.max(memory.longestS, stretchS)
      }
      begin(memory, sample, sample.humidityPct)
      continue
    }
    if (moment.pump.state === 'run' && !isHeldByWater) memory.runS += sample.atS - memory.lastS
    memory.lastS = sample.atS
    memory.readings += 1
  }
  // The hangar's temperature where it is measured: that of a dead sensor may stand still with it.
  const tempC = moment.latest.ambient?.tempC ?? moment.latest.return?.tempC ?? null
  if (tempC === null || memory.pct === null || isHeldByWater) return
  memory.tempLowC = memory.tempLowC === null ? tempC : Math.min(memory.tempLowC, tempC)
  memory.tempHighC = memory.tempHighC === null ? tempC : Math.max(memory.tempHighC, tempC)
}

/** The largest change that temperature, ingress or a run should have brought in this stretch, % RH, and which it is. */
function predicted(memory: FrozenMemory, moment: Moment, pct: number): { pct: number; by: string } {
  const hours = (memory.lastS - memory.fromS) / HOUR_S
  const kelvin =
    memory.tempLowC === null || memory.tempHighC === null ? 0 : memory.tempHighC - memory.tempLowC
  const byWarmth = pct * PER_KELVIN * kelvin
  const runH = memory.runS / HOUR_S
  const isLongRun = runH * moment.kPerH.low >= RUN_TIME_CONSTANTS
  const byRun = isLongRun ? Math.abs(pct - moment.switchStopPct) : 0
  const perH =
    moment.lambdaRefPerH === null ? INGRESS_PRIOR_PER_H : Math.max(0, moment.lambdaRefPerH) * INGRESS_SHARE
  const ambientPct = moment.ambientPct ?? 50
  const byIngress = Math.max(0, ambientPct - pct) * (1 - Math.exp(-perH * Math.max(0, hours - runH)))
  if (byRun >= byWarmth && byRun >= byIngress) return { pct: byRun, by: 'run' }
  return byWarmth >= byIngress ? { pct: byWarmth, by: 'warmth' } : { pct: byIngress, by: 'ingress' }
}

function isLongest(memory: FrozenMemory): boolean {
  const { learningFromS, fromS, lastS, longestS } = memory
  return (
    learningFromS !== null && fromS - learningFromS >= LEARNING_S && lastS - fromS >= TIMES_LONGEST * longestS
  )
}

function step(memory: FrozenMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.fresh.length === 0) return SAME
  if (open === null) memory.changes = 0
  follow(memory, moment, open !== null)
  if (open !== null)
    return memory.changes >= CLEAN_CHANGES ? { kind: 'clear', evidence: { endedBy: 'changed' } } : SAME
  const { pct } = memory
  if (pct === null || memory.lastS - memory.fromS < FOR_S || pct < LOW_END_PCT || pct > HIGH_END_PCT)
    return CLEAR
  const share = Math.min(moment.sensor.stuckShare, STUCK_SHARE_MAX)
  const needed = share <= 0 ? 2 : LOG_CHANCE / Math.log(share)
  const change = predicted(memory, moment, pct)
  const isUnlikely =
    memory.readings > needed && change.pct >= STEPS * Math.max(moment.sensor.stepPct, STEP_MIN_PCT)
  if (!isUnlikely && !isLongest(memory)) return CLEAR
  return {
    kind: 'holds',
    urgency: 'visit',
    sinceS: memory.fromS,
    evidence: {
      pct,
      hours: (memory.lastS - memory.fromS) / HOUR_S,
      readings: memory.readings,
      expectedPct: change.pct,
      expectedBy: change.by,
      tempSpanC:
        memory.tempLowC === null || memory.tempHighC === null ? null : memory.tempHighC - memory.tempLowC,
      stepPct: moment.sensor.stepPct,
      longestH: memory.longestS / HOUR_S,
    },
  }
}

/**
 * The same number for a day and more, while temperature, ingress or a run should have moved it by five steps, or for three
 * times as long as ever before. Needs only the return humidity. Over after two different readings.
 */
export const frozen: Rule<FrozenMemory> = {
  name: 'frozen',
  start,
  step,
  pause: (memory) => {
    memory.pct = null
  },
}
