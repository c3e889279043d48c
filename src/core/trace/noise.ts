/**
 * What a humidity sensor does by itself: its noise, the step it reports in, and how often two neighbouring readings
 * are equal. Learned from the rig's own readings at rest, where the air moves slowly; priors before that.
 */
export type NoiseMemory = {
  lastPct: number | null
  lastAtS: number
  beforePct: number | null
  beforeAtS: number
  /** Running median of |second difference|, % RH. */
  medianPct: number
  count: number
  /** Share of equal neighbours. */
  equalShare: number
  /** Share of recent readings that are a multiple of each candidate step. */
  multiples: number[]
}

/** Steps that sensors and hubs round to, % RH. */
const STEPS_PCT = [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1] as const

/** Noise before it is learned, % RH: what cheap capacitive sensors show. */
const PRIOR_SIGMA_PCT = 0.3
/** Second differences of independent noise have a median size of 0.6745 sqrt(6) sigma. */
const MEDIAN_OF_SECOND_DIFFERENCE = 0.6745 * Math.sqrt(6)
const SIGMA_MIN_PCT = 0.02
const SIGMA_MAX_PCT = 2
/** The running median moves by 3 % a reading: it settles within a hundred readings and then scatters by a tenth. */
const MEDIAN_GAIN = 0.03
/** Weight of one reading in the shares: a memory of about two hundred readings. */
const SHARE_GAIN = 0.005
/**
 * A hub that reports on change posts no two equal readings: of air that wavers between two steps it posts one and the other,
 * and their second differences are two whole steps however little the sensor wavers. That is seen by the equal readings that
 * a rounded sensor of such noise ought to have, sigma about a step, and has not: fewer than a third. Half of what is then
 * read is what remains: noise of a third of a step to one step reads as 1.2 to 1.8 of it.
 */
const ON_CHANGE_SHARE = 1 / 3
const ON_CHANGE_TIMES = 2
/** Readings before the share of equal ones is believed. */
const ON_CHANGE_MIN = 200
/** Three readings further apart than this say more about the weather than about the sensor, s. */
const SPAN_MAX_S = 2700
/** Share of equal neighbours is never believed beyond this: a sensor can always be a little more quiet than seen. */
const EQUAL_SHARE_MAX = 0.995

export function startNoise(): NoiseMemory {
  return {
    lastPct: null,
    lastAtS: 0,
    beforePct: null,
    beforeAtS: 0,
    medianPct: PRIOR_SIGMA_PCT * MEDIAN_OF_SECOND_DIFFERENCE,
    count: 0,
    equalShare: 0.5,
    multiples: STEPS_PCT.map(() => 1),
  }
}

/** The chain of neighbours is broken: a gap, a run, a bead change. */
export function breakNoise(memory: NoiseMemory): void {
  memory.lastPct = null
  memory.beforePct = null
}

function isMultiple(humidityPct: number, candidatePct: number): boolean {
  const ratio = humidityPct / candidatePct
  return Math.abs(ratio - Math.round(ratio)) < 1e-6
}

function takeMultiples(memory: NoiseMemory, humidityPct: number): void {
  for (let index = 0; index < STEPS_PCT.length; index++) {
    const share = memory.multiples[index] ?? 1
    const hit = isMultiple(humidityPct, STEPS_PCT[index] ?? 1) ? 1 : 0
    memory.multiples[index] = share + SHARE_GAIN * (hit - share)
  }
}

/** Takes one reading as reported, % RH, at rest or in a run alike for the step, for the noise only `isAtRest`. */
export function takeNoise(memory: NoiseMemory, humidityPct: number, atS: number, isAtRest: boolean): void {
  takeMultiples(memory, humidityPct)
  const { lastPct, beforePct } = memory
  if (lastPct !== null && isAtRest) {
    memory.equalShare += SHARE_GAIN * ((humidityPct === lastPct ? 1 : 0) - memory.equalShare)
    if (beforePct !== null && atS - memory.beforeAtS <= SPAN_MAX_S) {
      // Uneven spacing: the middle reading against the straight line between its neighbours.
      const share = (memory.lastAtS - memory.beforeAtS) / (atS - memory.beforeAtS)
      const bend = Math.abs(lastPct - beforePct - share * (humidityPct - beforePct)) * 2
      const factor = bend > memory.medianPct ? 1 + MEDIAN_GAIN : 1 - MEDIAN_GAIN
      memory.medianPct = Math.min(4 * SIGMA_MAX_PCT, Math.max(SIGMA_MIN_PCT, memory.medianPct * factor))
      memory.count += 1
    }
  }
  memory.beforePct = lastPct
  memory.beforeAtS = memory.lastAtS
  memory.lastPct = humidityPct
  memory.lastAtS = atS
}

/** The coarsest step that 98 % of the recent readings fit, % RH. */
export function stepPct(memory: NoiseMemory): number {
  for (let index = STEPS_PCT.length - 1; index > 0; index--) {
    const step = STEPS_PCT[index]
    if (step !== undefined && (memory.multiples[index] ?? 0) >= 0.98) return step
  }
  return STEPS_PCT[0]
}

/** Noise, % RH: learned, and never below what rounding to the step alone gives. */
export function sigmaPct(memory: NoiseMemory): number {
  const learned = Math.min(
    SIGMA_MAX_PCT,
    Math.max(SIGMA_MIN_PCT, memory.medianPct / MEDIAN_OF_SECOND_DIFFERENCE),
  )
  const step = stepPct(memory)
  const read = isPicked(memory, learned, step) ? learned / ON_CHANGE_TIMES : learned
  return Math.max(read, step / Math.sqrt(12))
}

/** Whether the readings were picked by their changes: too few equal ones for noise that is hardly more than the step. */
function isPicked(memory: NoiseMemory, learnedPct: number, step: number): boolean {
  if (memory.count < ON_CHANGE_MIN || learnedPct > 2 * step) return false
  // Two rounded readings are equal with the density of their difference at zero, times the step.
  const equal = step / (2 * Math.sqrt(Math.PI) * Math.max(learnedPct, step / 2))
  return memory.equalShare < ON_CHANGE_SHARE * equal
}

export function equalShare(memory: NoiseMemory): number {
  return Math.min(EQUAL_SHARE_MAX, Math.max(0.02, memory.equalShare))
}
