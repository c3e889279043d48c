import type { Evidence, OpenAlert } from '../fold/outputs.ts'
import { floorHighPct, isPreheated, slowestPerH, waterWeight } from './drying.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { SAME } from './rule.ts'
import { consequent } from './urgency.ts'

const HOUR_S = 3600

/** The wettest reading of a run's first hour is what it has to come down from: by then the engine's air has arrived. */
const REFERENCE_WITHIN_S = HOUR_S

/**
 * How long to wait, in time constants of the slowest drying (5 % quantile) this rig can have: at most three, 95 % of the
 * way to its floor. A working pump shows less than a third of its drop after n of them if its rate is below 0.405/n of
 * that quantile; with rates spread by s (of ln k) that is 4.1 s off, 2e-5 a run, at n = 0.405 exp((4.1 - 1.645) s).
 * A rig that has taught its rate is told after one or two.
 */
const TIME_CONSTANTS_MAX = 3
const TIME_CONSTANTS_MIN = 1.2

/**
 * A run that came out of a wet plateau, or one of the day after a flight, still has the last gram to dry from few places
 * and an engine that cools: the full three, and three hours at least.
 */
const WET_HOURS_MIN = 3
const FLIGHT_DAY_S = 86_400

function timeConstants({ kPerH }: Moment, wasWet: boolean): number {
  if (wasWet) return TIME_CONSTANTS_MAX
  const spread = Math.log(Math.max(1, kPerH.high / kPerH.low)) / 3.29
  return Math.min(TIME_CONSTANTS_MAX, Math.max(TIME_CONSTANTS_MIN, 0.405 * Math.exp(2.455 * spread)))
}

/**
 * A drop d is the share of the way from the reference to the floor. A working pump has d = 0.95 by then, a dead one 0.
 * Raised under a third where the error s of d is at most 0.15: 0.95 is then 4.1 s away, 2e-5 a run, and two readings in a
 * row have to say so. Over above a half, which a dead pump reaches with 3.3 s.
 */
const DROP_RAISE = 1 / 3
const DROP_OVER = 1 / 2
const DROP_ERROR_MAX = 0.15
const READINGS_IN_A_ROW = 2

/** Sensors of this price follow a change to within 3 % of the reading, beside noise and step. */
const RELATIVE_ERROR = 0.03

/**
 * Water in walls beside the air's own, as a multiple at 15 degC. A dead pump conserves something between vapour density
 * (0: the air in the box) and about twice that (1: box and hose walls); a cooling hangar makes the two differ, a
 * working pump takes both down to the floor. So either one standing still is no drop.
 */
const WALL_RATIOS = [0, 1] as const

/** Pump power outside these shares of its median while on: a stalled or open motor. Meters are good to 5 %. */
const POWER_LOW = 0.3
const POWER_HIGH = 2
/**
 * Longer than a meter's own averaging, and than a report of the outlet's state is late: after a run the power is gone
 * at once, while the pump is said to run for up to 15 minutes more and two readings, s.
 */
const POWER_FOR_S = 1500
/** Within this the power is normal again; between the two nothing changes. */
const POWER_NORMAL_LOW = 0.6
const POWER_NORMAL_HIGH = 1.5

type NoDropMemory = {
  runFromS: number | null
  refAtS: number | null
  refPct: number
  refTempC: number | null
  /** First reading of the run, % RH, and the highest within its first hour: their difference is the surge. */
  firstPct: number | null
  topPct: number
  /** The wet gate was open in this run, or a flight was logged within the day before it. */
  wasWet: boolean
  /** True while every reading of the run was the same. */
  isFlat: boolean
  /** Readings in a row that show no drop. */
  hits: number
  powerSinceS: number | null
  normalSinceS: number | null
}

function start(): NoDropMemory {
  return {
    runFromS: null,
    refAtS: null,
    refPct: 0,
    refTempC: null,
    firstPct: null,
    topPct: 0,
    wasWet: false,
    isFlat: true,
    hits: 0,
    powerSinceS: null,
    normalSinceS: null,
  }
}

function forget(memory: NoDropMemory): void {
  if (memory.runFromS !== null) Object.assign(memory, start())
}

function refer(memory: NoDropMemory, sample: Sample, humidityPct: number): void {
  memory.refAtS = sample.atS
  memory.refPct = humidityPct
  memory.refTempC = sample.tempC
  memory.hits = 0
}

/** Keeps the reference: the wettest air of the first hour, anew as long as evaporation may explain a plateau. */
function follow(memory: NoDropMemory, moment: Moment, sample: Sample, humidityPct: number): void {
  const runFromS = memory.runFromS ?? sample.atS
  if (sample.atS < runFromS) return
  const isEarly = sample.atS - runFromS <= REFERENCE_WITHIN_S
  memory.firstPct ??= humidityPct
  if (humidityPct !== memory.firstPct) memory.isFlat = false
  if (isEarly && humidityPct > memory.topPct) memory.topPct = humidityPct
  const isWetter =
    humidityPct * waterWeight(sample.tempC, 0) > memory.refPct * waterWeight(memory.refTempC, 0)
  // The first reading after the plateau is the next reference.
  if (moment.wetGate.isOpen) {
    memory.refAtS = null
    memory.wasWet = true
  } else if (memory.refAtS === null || (isEarly && isWetter)) refer(memory, sample, humidityPct)
}

type Drop = { readonly share: number; readonly error: number }

/** The smallest drop over the wall ratios, with its error; an infinite error where reference and floor are too close. */
function dropOf(memory: NoDropMemory, moment: Moment, humidityPct: number, tempC: number | null): Drop {
  const floorPct = floorHighPct(moment)
  const spanPct = memory.refPct - floorPct
  if (spanPct <= 0) return { share: 1, error: Infinity }
  const { sigmaPct, stepPct } = moment.sensor
  const noisePct = Math.hypot(
    sigmaPct,
    stepPct / Math.sqrt(12),
    RELATIVE_ERROR * Math.min(humidityPct, memory.refPct),
  )
  const error = (Math.SQRT2 * noisePct) / spanPct
  let share = Infinity
  for (const ratio of WALL_RATIOS) {
    const left = (humidityPct - floorPct) * waterWeight(tempC, ratio)
    share = Math.min(share, 1 - left / (spanPct * waterWeight(memory.refTempC, ratio)))
  }
  return { share, error }
}

function evidenceOf(memory: NoDropMemory, moment: Moment, now: Sample, drop: Drop | null): Evidence {
  return {
    by: drop === null ? 'power' : 'drop',
    runFromS: memory.runFromS,
    pumpBasis: moment.pump.basis,
    fromAtS: memory.refAtS,
    fromPct: memory.refPct,
    nowAtS: now.atS,
    nowPct: now.humidityPct,
    tempC: now.tempC,
    floorPct: floorHighPct(moment),
    dropShare: drop?.share ?? null,
    surgePct: memory.firstPct === null ? null : memory.topPct - memory.firstPct,
    isFlat: memory.isFlat,
    powerW: now.powerW,
    usualPowerW: moment.pumpPowerW,
  }
}

/** Metered power while the outlet is on; `null` while it says nothing new. */
function judgePower(
  memory: NoDropMemory,
  moment: Moment,
  sample: Sample,
  open: OpenAlert | null,
): Verdict | null {
  const usualW = moment.pumpPowerW
  if (sample.powerW === null || usualW === null || sample.pumpOn === false) return null
  const share = sample.powerW / usualW
  const isOdd = share < POWER_LOW || share > POWER_HIGH
  const isNormal = share > POWER_NORMAL_LOW && share < POWER_NORMAL_HIGH
  memory.powerSinceS = isOdd ? (memory.powerSinceS ?? sample.atS) : null
  memory.normalSinceS = isNormal ? (memory.normalSinceS ?? sample.atS) : null
  if (
    memory.powerSinceS !== null &&
    sample.atS - memory.powerSinceS >= Math.max(POWER_FOR_S, moment.reportLagS)
  ) {
    const evidence = evidenceOf(memory, moment, sample, null)
    return consequent(moment, open, { sinceS: memory.powerSinceS, evidence })
  }
  const isMended = open?.evidence['by'] === 'power' && memory.normalSinceS !== null
  if (!isMended || sample.atS - (memory.normalSinceS ?? 0) < POWER_FOR_S) return null
  return { kind: 'clear', evidence: { endedBy: 'power', powerW: sample.powerW } }
}

function judgeDrop(memory: NoDropMemory, moment: Moment, sample: Sample, open: OpenAlert | null): Verdict {
  const humidityPct = sample.humidityPct
  if (humidityPct === null || memory.refAtS === null || moment.wetGate.isOpen) return SAME
  const waitedH = (sample.atS - memory.refAtS) / HOUR_S
  // The cold only lengthens the wait, so this early way out needs no saturation pressure.
  const isDue =
    waitedH * moment.kPerH.low >= TIME_CONSTANTS_MIN &&
    (!memory.wasWet || waitedH >= WET_HOURS_MIN) &&
    waitedH * slowestPerH(moment) >= timeConstants(moment, memory.wasWet)
  if (!isDue && open === null) return SAME
  const drop = dropOf(memory, moment, humidityPct, sample.tempC)
  if (open !== null && drop.share - 2 * drop.error > 0 && drop.share > DROP_OVER) {
    return { kind: 'clear', evidence: { endedBy: 'drop', nowPct: humidityPct, nowAtS: sample.atS } }
  }
  if (!isDue) return SAME
  if (drop.error > DROP_ERROR_MAX || drop.share >= DROP_RAISE) {
    // Judged, and it came down, or the reference was too dry to tell. Air that has climbed since is a new reference; air
    // that has settled is not: standing still on the floor is no sign of a dead pump.
    memory.hits = 0
    if (humidityPct > memory.refPct) refer(memory, sample, humidityPct)
    return SAME
  }
  memory.hits += 1
  if (memory.hits < READINGS_IN_A_ROW) return SAME
  return consequent(moment, open, {
    sinceS: memory.refAtS,
    evidence: evidenceOf(memory, moment, sample, drop),
  })
}

const ON_PLATEAU: Verdict = {
  kind: 'unknown',
  why: 'on the wet plateau a dead pump cannot be told from evaporation until the water budget is spent',
}

function step(memory: NoDropMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.pump.state !== 'run' || isPreheated(moment) || moment.unhookedAtS !== null) {
    forget(memory)
    return SAME
  }
  if (memory.runFromS !== moment.pump.sinceS) {
    forget(memory)
    memory.runFromS = moment.pump.sinceS
    memory.wasWet = moment.flightAtS !== null && moment.atS - moment.flightAtS < FLIGHT_DAY_S
  }
  const { wetGate } = moment
  if (open !== null && wetGate.isOpen && (wetGate.openedAtS ?? 0) > open.raisedAtS) {
    return { kind: 'clear', evidence: { endedBy: 'surge' } }
  }
  let verdict: Verdict = wetGate.isOpen ? ON_PLATEAU : SAME
  for (const sample of moment.fresh) {
    if (sample.place !== 'return') continue
    if (sample.humidityPct !== null) follow(memory, moment, sample, sample.humidityPct)
    const found = judgePower(memory, moment, sample, open) ?? judgeDrop(memory, moment, sample, open)
    if (found.kind !== 'same') verdict = found
  }
  return verdict
}

/**
 * The pump is said to run and the air does not get drier: pump dead, hose or cap off. Needs a run (reported, metered or
 * inferred) and the return humidity; metered power tells at once. Over after a drop to half way, a surge that opens the
 * wet gate, or power back to normal. On the wet plateau it cannot tell.
 */
export const noDrop: Rule<NoDropMemory> = { name: 'no-drop', start, step, pause: forget }
