import { IDLE_SIGMAS, idleBelowPct } from './unhooked.ts'

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

/** Between two posts only other air makes it rise so much, % RH, five deviations or two steps. */
const JUMP_MIN_PCT = 1.5
const JUMP_SIGMAS = 5
const JUMP_STEPS = 2
/**
 * Below the least of the starts that were seen the deviations alone are asked for, and half a percent where a sensor has hardly any;
 * of either half a step more, which the reading hides, % RH.
 */
const BELOW_LEAST_PCT = 0.5
/** A climb is read over so long at least, s; over less it is twice that of a closed box in 100 % air, 1/h (see `unhooked.ts`). */
const CLIMB_OVER_S = 600
const CLIMB_PER_H = 0.1

/** What the air would have climbed by itself from `base` until `atS`, % RH. */
function climbPct(first: Mark, base: Mark, atS: number): number {
  const overS = base[0] - first[0]
  const perS = overS >= CLIMB_OVER_S ? (base[1] - first[1]) / overS : ((100 - base[1]) * CLIMB_PER_H) / 3600
  return Math.max(0, perS * (atS - base[0]))
}

/** Below this no pump is started, % RH. */
function idlePct(limits: SprungLimits): number {
  const { leastStartPct, sigmaPct, stepPct } = limits
  const idle = idleBelowPct(limits)
  const learned =
    leastStartPct === null ? idle : leastStartPct - Math.max(BELOW_LEAST_PCT, IDLE_SIGMAS * sigmaPct)
  return Math.max(idle, learned) - stepPct / 2
}

/**
 * When the air sprang, s: the last reading before; `null` if it did not. `readings` are those of the last twenty minutes, the one
 * before, and the one that shows the run, oldest first.
 */
export function sprungFromS(readings: readonly Mark[], limits: SprungLimits): number | null {
  const { sigmaPct, stepPct } = limits
  const jumpPct = Math.max(JUMP_MIN_PCT, JUMP_SIGMAS * sigmaPct, JUMP_STEPS * stepPct)
  const isJump = (index: number) => {
    const [before, now] = [readings[index - 1], readings[index]]
    return before !== undefined && now !== undefined && now[1] - before[1] >= jumpPct
  }
  let index = readings.length - 1
  while (index > 0 && !isJump(index)) index -= 1
  if (index === 0) return null
  while (index > 0 && isJump(index)) index -= 1
  const [first, base, after] = [readings[0], readings[index], readings[index + 1]]
  if (first === undefined || base === undefined || after === undefined) return null
  return base[1] + climbPct(first, base, after[0]) < idlePct(limits) ? base[0] : null
}
