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
  /** Running median of |difference| of neighbours, and its running 20 % quantile, % RH. */
  changePct: number
  smallChangePct: number
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
/** The same for a 20 % quantile: up by a quarter of what it goes down, so that four in five lie above. */
const SMALL_UP = 0.01
const SMALL_DOWN = 4 * SMALL_UP
/** Weight of one reading in the shares: a memory of about two hundred readings. */
const SHARE_GAIN = 0.005
/**
 * A hub that reports on change leaves out what is near its last report: of air that stands it posts the one end of the noise
 * and then the other, and second differences are twice the difference however little the sensor wavers. It is known by the
 * small differences that are missing: of normal noise the 20 % quantile of |difference| is 0.38 of the median, of picked
 * readings nearly all of it. Air that only climbs has no small differences either, but second ones that are smaller than the
 * first. From one end to the other and back is four deviations of a reading, where independent noise has
 * `MEDIAN_OF_SECOND_DIFFERENCE`.
 */
const PICKED_SHARE = 0.6
const PICKED_TIMES = 4 / MEDIAN_OF_SECOND_DIFFERENCE
/** Second differences of noise have 1.73 times the first ones' size, picked ones twice; those of a climb none. */
const WAVERS_TIMES = 1.4
/** Of the equal readings that a rounded sensor of such noise ought to have. */
const EQUAL_PICKED_SHARE = 1 / 3
/** Differences before they are believed. */
const PICKED_MIN = 200
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
    changePct: PRIOR_SIGMA_PCT,
    smallChangePct: 0.38 * PRIOR_SIGMA_PCT,
    equalShare: 0.5,
    multiples: STEPS_PCT.map(() => 1),
  }
}

/** The chain of neighbours is broken: a gap, a run, a bead change. */
export function breakNoise(memory: NoiseMemory): void {
  memory.lastPct = null
  memory.beforePct = null
}

const kept = (pct: number) => Math.min(4 * SIGMA_MAX_PCT, Math.max(SIGMA_MIN_PCT, pct))

function takeChange(memory: NoiseMemory, changePct: number): void {
  const { changePct: median, smallChangePct: small } = memory
  memory.changePct = kept(median * (changePct > median ? 1 + MEDIAN_GAIN : 1 - MEDIAN_GAIN))
  memory.smallChangePct = kept(small * (changePct > small ? 1 + SMALL_UP : 1 - SMALL_DOWN))
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
      memory.medianPct = kept(memory.medianPct * factor)
      if (humidityPct !== lastPct) takeChange(memory, Math.abs(humidityPct - lastPct))
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
  const read = isPicked(memory, learned, step) ? learned / PICKED_TIMES : learned
  return Math.max(read, step / Math.sqrt(12))
}

/** Whether the readings were picked by their changes: no small ones, back and forth. */
function isPicked(memory: NoiseMemory, learnedPct: number, step: number): boolean {
  const { count, changePct, smallChangePct, medianPct } = memory
  if (count < PICKED_MIN || medianPct < WAVERS_TIMES * changePct) return false
  if (smallChangePct < PICKED_SHARE * changePct) return false
  // Rounding to a step leaves out smaller differences too; then it is the equal readings that are missing. Two rounded
  // readings are equal with the density of their difference at zero, times the step.
  const equal = step / (2 * Math.sqrt(Math.PI) * Math.max(learnedPct, step / 2))
  return smallChangePct > 1.5 * step || memory.equalShare < EQUAL_PICKED_SHARE * equal
}

export function equalShare(memory: NoiseMemory): number {
  return Math.min(EQUAL_SHARE_MAX, Math.max(0.02, memory.equalShare))
}
