import { FLIGHT_MIN } from '../rules/drying.ts'
import type { RigSettings } from './inputs.ts'
import type { LogMemory } from './log-memory.ts'

/** Half an hour of air through the loop: whoever plugged the pump in has also put the hoses on, or the loop is open. */
const RAN_FOR_S = 1800
/** Owners round the time of a landing to the quarter of an hour. */
const ROUNDED_S = 900

export type StartedRun = {
  readonly fromS: number
  readonly basis: 'reported' | 'power' | 'inferred'
  /** Last reading at rest before it, % RH; `null`: none. */
  readonly startPct: number | null
}

/** Far above the limit at which an outlet in order runs, % RH: half a band. */
function isFarAbove(humidityPct: number, band: RigSettings['band']): boolean {
  return humidityPct > band.startPct + (band.startPct - band.stopPct) / 2
}

/** Outlets report up to so late, s: readings since then may be of the run. */
const LATE_S = 900

/**
 * Whether the air stood far above the limit before a report at `atS` that the pump runs, and the last run was over, at `lastRunAtS`,
 * for as long as a flight takes: the rig was off its engine, or the outlet stuck, and water may have come in meanwhile. Behind a
 * dead pump it stands there as well, while a timer lets it rest. `trail` are the last readings, oldest first.
 */
export function isRestedWet(
  trail: readonly (readonly [atS: number, humidityPct: number, densityGm3: number])[],
  { atS, lastRunAtS }: { readonly atS: number; readonly lastRunAtS: number | null },
  band: RigSettings['band'],
): boolean {
  const [first] = trail
  if (first === undefined || first[0] > atS - LATE_S) return false
  if (lastRunAtS !== null && atS - lastRunAtS < 60 * FLIGHT_MIN) return false
  return trail.every(([, humidityPct]) => isFarAbove(humidityPct, band))
}

/**
 * Whether somebody at the rig started a run after a landing. The pump had rested half a band above its limit, where an
 * outlet left to its band would have run; or the hub was unplugged over the landing. Where a cold, wet engine keeps the
 * air on its plateau for days this is all that says that the rig is back; hoses that were forgotten are the open loop's
 * to say. Needs a reported or metered pump: an inferred run is made of the humidity alone.
 */
export function isStartedByHand(
  run: StartedRun,
  of: {
    readonly atS: number
    readonly landedS: number
    readonly log: LogMemory
    readonly band: RigSettings['band']
  },
): boolean {
  const { landedS, log, band } = of
  if (run.basis === 'inferred' || run.fromS <= landedS || of.atS - run.fromS < RAN_FOR_S) return false
  if (run.startPct !== null) return isFarAbove(run.startPct, band)
  const backS = log.offEndedAtS
  if (backS === null || backS <= landedS || run.fromS < backS) return false
  return backS - 60 * log.offMin <= landedS + ROUNDED_S
}

/**
 * Whether a run that an outlet reports has come down to `stop` half an hour or more after a landing. The landing may have been
 * entered with the time of the entry, when the run had done most of its work: of what is left no drop can be made.
 */
export function isDryAgain(
  run: Pick<StartedRun, 'basis'>,
  of: {
    readonly atS: number
    readonly landedS: number
    readonly humidityPct: number
    readonly band: RigSettings['band']
  },
): boolean {
  return run.basis !== 'inferred' && of.atS - of.landedS >= RAN_FOR_S && of.humidityPct <= of.band.stopPct
}

/**
 * Whether a fall of the air may be taken for the beads' work. Where the run is only inferred from that air, a front that
 * passes through the hangar looks like a drop; but hangar air as dry as the band is rare, and a loop gets there.
 */
export function isPumpsDrop(
  run: Pick<StartedRun, 'basis'>,
  humidityPct: number,
  band: RigSettings['band'],
): boolean {
  return run.basis !== 'inferred' || humidityPct <= band.startPct
}
