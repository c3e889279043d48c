/**
 * How often a rig is heard, learned over one to two weeks: what is late, and what is a gap. Spacings are counted in
 * narrow logarithmic bins, one block of a week and the block before it, so the memory stays the same for ever.
 */
export type SpacingMemory = {
  blockFromS: number
  /** Count of spacings per bin, this block and the one before. */
  now: number[]
  before: number[]
  /** Longest spacing of each block, s: a hub that reports by the clock gets its own figure back, not a bin's edge. */
  longestNowS: number
  longestBeforeS: number
  /** Held results, s. */
  quantileS: number
  medianS: number
  sinceUpdate: number
}

const BLOCK_S = 7 * 86_400
/** Bins from 10 s on, each 8 % wider than the last: 88 of them reach two and a half hours, the last holds the rest. */
const FIRST_BIN_S = 10
const BIN_RATIO = 1.08
const BINS = 88
const LOG_RATIO = Math.log(BIN_RATIO)

/** Counts behind a quantile before it is believed; until then the stated or usual spacing stands. */
const COUNT_MIN = 20
/** Spacing assumed before anything is learned, s: what a hub with a five-minute schedule does. */
const USUAL_S = 300
/** Below this a silence is never called a gap, s: one lost post and a retry are ordinary. */
const GAP_MIN_S = 1200
/** Results are renewed after this many spacings (every spacing at first). */
const UPDATE_EVERY = 16

export function startSpacing(atS: number): SpacingMemory {
  return {
    blockFromS: atS,
    now: Array.from({ length: BINS }, () => 0),
    before: Array.from({ length: BINS }, () => 0),
    longestNowS: 0,
    longestBeforeS: 0,
    quantileS: 0,
    medianS: 0,
    sinceUpdate: 0,
  }
}

function binOf(spacingS: number): number {
  const bin = Math.ceil(Math.log(spacingS / FIRST_BIN_S) / LOG_RATIO)
  return Math.min(BINS - 1, Math.max(0, bin))
}

function upperEdgeS(bin: number): number {
  return bin === BINS - 1 ? Number.MAX_SAFE_INTEGER : FIRST_BIN_S * BIN_RATIO ** bin
}

/** Spacing that a share of all spacings does not exceed, s; the largest single one is left out of a short record. */
function quantile(memory: SpacingMemory, share: number, total: number): number {
  let left = Math.max(1, Math.floor(share * total))
  for (let bin = 0; bin < BINS; bin++) {
    left -= (memory.now[bin] ?? 0) + (memory.before[bin] ?? 0)
    if (left <= 0) return Math.min(upperEdgeS(bin), Math.max(memory.longestNowS, memory.longestBeforeS))
  }
  return Math.max(memory.longestNowS, memory.longestBeforeS)
}

function update(memory: SpacingMemory): void {
  let total = 0
  for (let bin = 0; bin < BINS; bin++) total += (memory.now[bin] ?? 0) + (memory.before[bin] ?? 0)
  memory.sinceUpdate = total < 4 * UPDATE_EVERY ? UPDATE_EVERY : 0
  if (total < COUNT_MIN) return
  memory.quantileS = quantile(memory, 0.99, total)
  memory.medianS = quantile(memory, 0.5, total)
}

/** Takes the time between two neighbouring readings, s (over 0), the later one at `atS`. */
export function takeSpacing(memory: SpacingMemory, spacingS: number, atS: number): void {
  if (atS - memory.blockFromS >= BLOCK_S) {
    memory.before = memory.now
    memory.longestBeforeS = memory.longestNowS
    memory.now = Array.from({ length: BINS }, () => 0)
    memory.longestNowS = 0
    memory.blockFromS = atS
  }
  const bin = binOf(spacingS)
  memory.now[bin] = (memory.now[bin] ?? 0) + 1
  if (spacingS > memory.longestNowS) memory.longestNowS = spacingS
  memory.sinceUpdate += 1
  if (memory.sinceUpdate >= UPDATE_EVERY) update(memory)
}

/** Q: the longest ordinary spacing, s: the 99th percentile, at least the stated one (the median where none is stated). */
export function ordinarySpacingS(memory: SpacingMemory, statedS: number | null): number {
  const learnedS = memory.quantileS > 0 ? memory.quantileS : (statedS ?? USUAL_S)
  return Math.max(learnedS, statedS ?? memory.medianS)
}

/** A longer silence is a gap, s: three ordinary spacings, at least 20 minutes. */
export function gapMaxS(memory: SpacingMemory, statedS: number | null): number {
  return Math.max(3 * ordinarySpacingS(memory, statedS), GAP_MIN_S)
}
