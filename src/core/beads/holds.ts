/**
 * What a jar's fill holds until it is used up, told by its earlier fills: the ledger when they were, over what the published
 * curve makes of the same load and of water that came in the same air. Flow, sensor offset and the shape of the front are
 * wrong in the same way each time, so they cancel between one fill's ledger and the next; how much of the water came from
 * flights does not, and moves what a column holds by half and more (see `publishedCapacityG`). ln of the share at the flow
 * as stated, normal.
 */
export type Holds = { readonly mean: number; readonly sd: number }

/** What is seen of a fill at its end: its ledger, and whether the rise of the exit air shows that it was used up. */
export type FillEnd = {
  /** Ledger at the flow as stated when runs began to stand above `stop`, or at the end, over the published capacity. */
  readonly share: number
} & (
  | { readonly kind: 'over' | 'no-sign' }
  /** `part`: of its capacity, what a column on the published curve has taken up when its exit has come up as far. */
  | { readonly kind: 'rising'; readonly part: number }
)

/**
 * One fill against the next, ln: the exit comes up to `stop` on a wet day a tenth sooner than in dry weeks, bakes and the mix
 * of flights and leakage differ by as much.
 */
const OVER_SD = 0.13
/**
 * The exit stays near the bake's residual until the last fifth of a fill: a column so blunt that it shows more of it is none that
 * was seen to rise. How sharp the front is makes half of that fifth's width.
 */
const RISING_PART_LEAST = 0.8
const RISING_SD = Math.hypot(0.13, 0.1)
/** From one fill to the next beads age and bakes differ: independent of what was not known before, so variances add. */
const NEXT_SD = 0.1

/** ln-SD of what one fill will hold: the jar's belief, and the fill's own scatter about it. */
export function nextFillSd(holds: Holds): number {
  return Math.hypot(holds.sd, OVER_SD)
}

function told(end: Exclude<FillEnd, { kind: 'no-sign' }>): Holds {
  if (end.kind !== 'rising') return { mean: Math.log(end.share), sd: OVER_SD }
  const part = Math.min(1, Math.max(RISING_PART_LEAST, end.part))
  return { mean: Math.log(end.share / part), sd: RISING_SD }
}

/**
 * The belief for a jar's next fill, from the one before and what its end showed. A fill that was baked without a sign tells
 * nothing but that it held more than it took up.
 */
export function holdsAfter(before: Holds | null, end: FillEnd): Holds | null {
  const ageing = (holds: Holds): Holds => ({ mean: holds.mean, sd: Math.hypot(holds.sd, NEXT_SD) })
  if (!(end.share > 0)) return before
  if (end.kind === 'no-sign') {
    if (before === null) return null
    return ageing({ mean: Math.max(before.mean, Math.log(end.share)), sd: before.sd })
  }
  const seen = told(end)
  if (before === null) return ageing(seen)
  const precision = 1 / before.sd ** 2
  const added = 1 / seen.sd ** 2
  const mean = (before.mean * precision + seen.mean * added) / (precision + added)
  return ageing({ mean, sd: Math.sqrt(1 / (precision + added)) })
}
