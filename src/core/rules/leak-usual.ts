import { median } from '../stats/quantile.ts'
import type { Ingress } from './ingress-window.ts'

/**
 * A window without a leak: ln L/h, ln 1/h, and the share of a flight's water that was still in films and oil. The rig's
 * own are kept in two lists, so that many quiet weeks do not push out what flights have taught.
 */
export type Seen = [logLitres: number, logClimb: number, left: number]

/** What a window of this rig shows without a leak. */
export type Usual = {
  /** ln L/h and ln 1/h with nothing left of a flight, and what a share of one adds. */
  readonly litres: Line
  readonly climb: Line
  /** Variance of ln L/h of one window about that. */
  readonly variance: number
  readonly count: number
}

type Line = { readonly mid: number; readonly added: number; readonly addedVariance: number }

/** Oil gives back what a flight left with a time constant of days; told from so many days after it on. */
const FROM_DAYS = 3
export const LEFT_DAYS = 4

/** The share of what a flight left at `FROM_DAYS` that is there `days` after it, 0 to 1. */
export function leftOf(days: number): number {
  return Math.min(1, Math.exp((FROM_DAYS - days) / LEFT_DAYS))
}

/** Windows are wet with so much left (under 6.7 days), dry with less than so little (over 8.5 days). */
const WET_LEFT = 0.4
const DRY_LEFT = 0.25
/**
 * What a flight adds at three days before the rig's own is known, ln: by the physics none in a warm engine to a factor of
 * four in a cold one with much oil; median and deviation of that.
 */
const ADDED = 0.3
const ADDED_SCATTER = 0.7

/** Scatter of a window before the rig's own is known, ln, weighing as much as so many windows; and the least believed. */
const PRIOR_SCATTER = 0.4
const PRIOR_WEIGHT = 5
const LEAST_SCATTER = 0.25
/** Variance of a median over that of a mean. */
const MEDIAN_LOSS = Math.PI / 2
/** Of a normal distribution: its standard deviation over its median absolute deviation. */
const MAD_TO_SD = 1.4826

/**
 * The least that a humidity sensor can tell in a day, L/h: half a percent of RH, in a loop whose films and oil hold three
 * times what its 45 L of air do, with half a hangar's vapour behind it. A rig more sealed than that is taken as that.
 */
const LEAST_L_PER_H = 0.1

const meanLeft = (seen: readonly Seen[]) => seen.reduce((sum, one) => sum + one[2], 0) / seen.length

/** The middle of the wet windows less that of the dry, per share left, drawn towards what is usual where few are known. */
function addedOf(seen: readonly Seen[], which: 0 | 1): { added: number; addedVariance: number } {
  const wet = seen.filter((one) => one[2] >= WET_LEFT)
  const dry = seen.filter((one) => one[2] < DRY_LEFT)
  const wetMid = median(wet.map((one) => one[which]))
  const dryMid = median(dry.map((one) => one[which]))
  if (wetMid === null || dryMid === null) return { added: ADDED, addedVariance: ADDED_SCATTER ** 2 }
  const apart = meanLeft(wet) - meanLeft(dry)
  const known = apart ** 2 / (MEDIAN_LOSS * PRIOR_SCATTER ** 2 * (1 / wet.length + 1 / dry.length))
  const supposed = 1 / ADDED_SCATTER ** 2
  const added = (((wetMid - dryMid) / apart) * known + ADDED * supposed) / (known + supposed)
  // A flight brings water; it takes none away.
  return { added: Math.max(0, added), addedVariance: 1 / (known + supposed) }
}

function lineOf(seen: readonly Seen[], which: 0 | 1): Line {
  const { added, addedVariance } = addedOf(seen, which)
  return { mid: median(seen.map((one) => one[which] - added * one[2])) ?? 0, added, addedVariance }
}

/** The rig's usual from its windows; at least one. */
export function usualOf(seen: readonly Seen[]): Usual {
  const litres = lineOf(seen, 0)
  // What a run leaves in films or takes out of them is as many grams with a leak as without: in a rig that takes in little it
  // makes ln of the litres fall far down, never up as far. Only what lies above the middle may look like a leak.
  const above = seen.map((one) => one[0] - litres.added * one[2] - litres.mid).filter((off) => off >= 0)
  const deviation = MAD_TO_SD * (median(above) ?? 0)
  const count = above.length
  const pooled = (count * deviation ** 2 + PRIOR_WEIGHT * PRIOR_SCATTER ** 2) / (count + PRIOR_WEIGHT)
  const own = { ...litres, mid: Math.max(Math.log(LEAST_L_PER_H), litres.mid) }
  return {
    litres: own,
    climb: lineOf(seen, 1),
    variance: Math.max(LEAST_SCATTER ** 2, pooled),
    count: seen.length,
  }
}

/**
 * Two humidity sensors are each off by some 3 % RH and a stated climate by its spells, a tenth of the hangar's vapour: of
 * a drive that is a small share of it, that is much.
 */
const HANGAR_ERROR = 0.1

/** How far a window, and the least that it can be, is above the rig's usual, ln, and the variance of that, the doubt of the usual included. */
export function excessOf(
  usual: Usual,
  ingress: Ingress,
): { litres: number; least: number; climb: number; variance: number } {
  const left = leftOf(ingress.dryDays)
  const own = usual.litres.mid + usual.litres.added * left
  return {
    litres: Math.log(ingress.litresPerH) - own,
    least: Math.log(ingress.leastLPerH) - own,
    climb: Math.log(ingress.climbPerH) - usual.climb.mid - usual.climb.added * left,
    variance:
      usual.variance * (1 + MEDIAN_LOSS / usual.count) +
      usual.litres.addedVariance * left ** 2 +
      (HANGAR_ERROR / Math.max(HANGAR_ERROR, ingress.driveShare)) ** 2,
  }
}

/** The memory is stored as text: three places are far below any scatter. */
const inThousandths = (value: number) => Math.round(1000 * value) / 1000

export const seenOf = (ingress: Ingress): Seen => [
  inThousandths(Math.log(ingress.litresPerH)),
  inThousandths(Math.log(ingress.climbPerH)),
  inThousandths(leftOf(ingress.dryDays)),
]
