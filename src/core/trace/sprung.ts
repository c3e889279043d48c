import { CLOSED_PER_H, IDLE_SIGMAS, idleBelowPct } from './unhooked.ts'

/**
 * Air that springs past `start` from where no pump starts. An outlet starts its pump from just under the limit, so a run of a
 * rig in order, and of a loop that has come open, begins there: an open hose end wets the box only through its length (vapour
 * needs hours for a metre), and the air still climbs to the limit before the pump draws the hangar in. Hangar air at the sensor
 * from one post to the next, with the pump at rest and the band not yet passed, takes hands: both ends open, or the sensor out.
 */
type Mark = readonly [atS: number, humidityPct: number, densityGm3: number]

export type SprungLimits = {
  /** Where the outlet starts its pump, as stated or learned, % RH; and the least of its last starts, `null` until learned. */
  readonly startPct: number
  readonly leastStartPct: number | null
  readonly sigmaPct: number
  readonly stepPct: number
}

/** Only other air makes it rise so much within minutes, % RH, five deviations or two steps. */
const JUMP_MIN_PCT = 1.5
const JUMP_SIGMAS = 5
const JUMP_STEPS = 2
/** A slow sensor shows such a rise over many posts: in each it rises twice as fast as a closed box can, and by no noise. */
const SPRING_FACTOR = 2
const SPRING_SIGMAS = 3
/**
 * Below the least of the starts that were seen the deviations alone are asked for, and half a percent where a sensor has hardly any;
 * of either half a step more, which the reading hides, % RH.
 */
const BELOW_LEAST_PCT = 0.5
/** A climb is read over so long at least, s; over less it is twice that of a closed box in 100 % air, 1/h. */
const CLIMB_OVER_S = 600
const CLIMB_PER_H = 2 * CLOSED_PER_H

/** What closed air of `fromPct` climbs in so many seconds at the most, % RH. */
const closedClimbPct = (fromPct: number, seconds: number) => ((100 - fromPct) * CLIMB_PER_H * seconds) / 3600

/** What the air would have climbed by itself from `base` until `atS`, % RH. */
function climbPct(first: Mark, base: Mark, atS: number): number {
  const overS = base[0] - first[0]
  if (overS < CLIMB_OVER_S) return closedClimbPct(base[1], atS - base[0])
  return Math.max(0, ((base[1] - first[1]) / overS) * (atS - base[0]))
}

/** Below this no pump is started, % RH. */
function idlePct(limits: SprungLimits): number {
  const { leastStartPct, sigmaPct, stepPct } = limits
  const idle = idleBelowPct(limits)
  const learned =
    leastStartPct === null ? idle : leastStartPct - Math.max(BELOW_LEAST_PCT, IDLE_SIGMAS * sigmaPct)
  return Math.max(idle, learned) - stepPct / 2
}

/** Which of the readings the air last sprang from; `null`: from none. */
function springIndex(changes: readonly Mark[], { sigmaPct, stepPct }: SprungLimits): number | null {
  const jumpPct = Math.max(JUMP_MIN_PCT, JUMP_SIGMAS * sigmaPct, JUMP_STEPS * stepPct)
  const isSpring = (index: number) => {
    const [before, now] = [changes[index - 1], changes[index]]
    if (before === undefined || now === undefined) return false
    const least = Math.max(
      SPRING_FACTOR * closedClimbPct(before[1], now[0] - before[0]),
      SPRING_SIGMAS * sigmaPct,
    )
    return now[1] - before[1] >= Math.min(jumpPct, least)
  }
  for (let last = changes.length - 1; last > 0; last--) {
    let first = last
    while (isSpring(first)) first -= 1
    const risePct = (changes[last]?.[1] ?? 0) - (changes[first]?.[1] ?? 0)
    if (risePct >= jumpPct) return first
  }
  return null
}

/**
 * When the air sprang, s: the last reading before; `null` if it did not. `readings` are those of the last twenty minutes, the one
 * before, and the one that shows the run, oldest first.
 */
export function sprungFromS(readings: readonly Mark[], limits: SprungLimits): number | null {
  // A hub that posts its last value until it has a new one shows nothing in between.
  const changes = readings.filter((mark, index) => mark[1] !== readings[index - 1]?.[1])
  const from = springIndex(changes, limits)
  const [first, after] = [readings[0], from === null ? undefined : changes[from + 1]]
  const base = after === undefined ? undefined : readings[readings.indexOf(after) - 1]
  if (first === undefined || base === undefined || after === undefined) return null
  return base[1] + climbPct(first, base, after[0]) <= idlePct(limits) ? base[0] : null
}
