import { weigh } from './ensemble-evidence.ts'
import { type EnsembleMemory, freshExitPct, memberExitPct } from './ensemble.ts'

/** What lifts a run's floor above the exit air on a rig in order, % RH: films and oil; median, times or over 1.8. */
export const DESORPTION_PCT = 1.5
const DESORPTION_LN_SD = Math.log(1.8)
/** ln of a run-time ratio is predicted up to here: a run that never ends has no ratio. */
const LN_RATIO_MAX = Math.log(25)

/** ln of the time between the two fixed readings, for a loop heading for `floorPct`. */
function lnFallTime(marks: { readonly highPct: number; readonly lowPct: number }, floorPct: number): number {
  const belowPct = marks.lowPct - Math.min(floorPct, marks.lowPct - 0.05)
  return Math.log(Math.log((marks.highPct - floorPct) / belowPct))
}

/** Halvings of the floor's range: to a thousandth of a percent. */
const HALVINGS = 14

/** How far a floor of `freshPct` must have risen for runs to take `ln` longer, % RH. */
export function liftOfRatio(
  marks: { readonly highPct: number; readonly lowPct: number },
  freshPct: number,
  ln: number,
): number {
  let low = Math.min(freshPct, 0.8 * marks.lowPct)
  const wanted = lnFallTime(marks, low) + Math.max(0, ln)
  const fromPct = low
  let high = marks.lowPct - 0.05
  for (let round = 0; round < HALVINGS; round++) {
    const middle = (low + high) / 2
    if (lnFallTime(marks, middle) < wanted) low = middle
    else high = middle
  }
  return (low + high) / 2 - fromPct
}

/**
 * Weighs the members by the run-time ratio: spent beads send air with exit humidity back, the run heads for a higher
 * floor and takes longer. `sd` is the ratio's own error, ln: on simulated rigs of two kinds ln R of fresh beads lay within
 * 1.3 to 1.5 of it for 80 % of the days, as Student's t with 4 degrees of freedom has it.
 */
export function weighByRunTime(
  ensemble: EnsembleMemory,
  seen: {
    readonly ln: number
    readonly sd: number
    readonly tempC: number
    readonly highPct: number
    readonly lowPct: number
  },
): void {
  const freshPct = Math.min(freshExitPct(ensemble, seen.tempC) + DESORPTION_PCT, 0.8 * seen.lowPct)
  const before = lnFallTime(seen, freshPct)
  weigh(ensemble, 'run-time', (member) => {
    const floorPct = Math.min(
      memberExitPct(ensemble, member, seen.tempC) + DESORPTION_PCT,
      seen.lowPct - 0.01,
    )
    const predicted = Math.min(LN_RATIO_MAX, lnFallTime(seen, Math.max(freshPct, floorPct)) - before)
    return (seen.ln - predicted) / seen.sd
  })
}

/** Mean of what films and oil add, % RH. */
export const DESORPTION_MEAN_PCT = DESORPTION_PCT * Math.exp(0.5 * DESORPTION_LN_SD ** 2)

/**
 * Exit air + sensor offset + desorption, % RH. `sensorSdPct` is the sensor's error, one standard deviation; `wetShare` the
 * probability that a wet engine lifts it.
 */
export type ExitSeen = {
  readonly pct: number
  readonly sePct: number
  readonly sensorSdPct: number
  readonly tempC: number
  readonly wetShare?: number
}

/**
 * Weighs the members by what an air shows that has come out of the beads: a floor check through the loop, or a loop test straight
 * from the beads to the sensor.
 */
export function weighByExit(ensemble: EnsembleMemory, kind: 'floor' | 'loop-test', seen: ExitSeen): void {
  const sdPct = DESORPTION_MEAN_PCT * Math.sqrt(Math.exp(DESORPTION_LN_SD ** 2) - 1)
  const scale = Math.hypot(sdPct, seen.sePct, seen.sensorSdPct)
  weigh(
    ensemble,
    kind,
    (member) => (seen.pct - memberExitPct(ensemble, member, seen.tempC) - DESORPTION_MEAN_PCT) / scale,
    seen.wetShare,
  )
}

/** Scatter of an apparent floor about exit air plus the rig's own lift, % RH: season, films, the fit. */
const RISE_SCALE_PCT = 1.2

/**
 * Weighs the members by how far the floor has risen since this fill was fresh, % RH: the sensor's offset and the rig's
 * own desorption are in both and cancel. For runs so long that they show their floor.
 */
export function weighByRise(
  ensemble: EnsembleMemory,
  seen: {
    readonly risePct: number
    readonly sePct: number
    readonly tempC: number
    readonly wetShare: number
  },
): void {
  const freshPct = freshExitPct(ensemble, seen.tempC)
  const scale = Math.hypot(RISE_SCALE_PCT, seen.sePct)
  weigh(
    ensemble,
    'floor',
    (member) => (seen.risePct - (memberExitPct(ensemble, member, seen.tempC) - freshPct)) / scale,
    seen.wetShare,
  )
}

/** Weighs the members by a sensor in the supply air: the exit itself. At most once a day. */
export function weighBySupply(
  ensemble: EnsembleMemory,
  seen: { readonly pct: number; readonly sensorSdPct: number; readonly tempC: number },
): void {
  weigh(
    ensemble,
    'supply',
    (member) => (seen.pct - memberExitPct(ensemble, member, seen.tempC)) / seen.sensorSdPct,
  )
}
