import { type EnsembleMemory, freshExitPct, memberExitPct, weigh } from './ensemble.ts'

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

/**
 * Weighs the members by a floor check: exit air + sensor offset + desorption. `sensorSdPct` is the sensor's error, one
 * standard deviation.
 */
export function weighByFloorCheck(
  ensemble: EnsembleMemory,
  seen: {
    readonly pct: number
    readonly sePct: number
    readonly sensorSdPct: number
    readonly tempC: number
  },
): void {
  const meanPct = DESORPTION_PCT * Math.exp(0.5 * DESORPTION_LN_SD ** 2)
  const sdPct = meanPct * Math.sqrt(Math.exp(DESORPTION_LN_SD ** 2) - 1)
  const scale = Math.hypot(sdPct, seen.sePct, seen.sensorSdPct)
  weigh(
    ensemble,
    'floor',
    (member) => (seen.pct - memberExitPct(ensemble, member, seen.tempC) - meanPct) / scale,
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
  seen: { readonly risePct: number; readonly sePct: number; readonly tempC: number },
): void {
  const freshPct = freshExitPct(ensemble, seen.tempC)
  const scale = Math.hypot(RISE_SCALE_PCT, seen.sePct)
  weigh(
    ensemble,
    'floor',
    (member) => (seen.risePct - (memberExitPct(ensemble, member, seen.tempC) - freshPct)) / scale,
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
