import type { Sample } from './rule.ts'

/** Pump power outside these shares of its median while on: a stalled or open motor. Meters are good to 5 %. */
export const POWER_LOW = 0.3
const POWER_HIGH = 2
/**
 * Longer than a meter's own averaging, and than a report of the outlet's state is late: after a run the power is gone
 * at once, while the pump is said to run for up to 15 minutes more and two readings, s.
 */
const POWER_FOR_S = 1500
/** Within this the power is normal again; between the two nothing changes. */
const POWER_NORMAL_LOW = 0.6
const POWER_NORMAL_HIGH = 1.5

/** Since when the power while on has been odd, or normal, s. */
export type PowerMemory = { powerSinceS: number | null; normalSinceS: number | null }

/** Takes a metered reading with the outlet on; says whether the power has been odd or normal for long enough. */
export function takePumpPower(
  memory: PowerMemory,
  sample: Sample,
  usual: { readonly powerW: number | null; readonly reportLagS: number },
): 'odd' | 'normal' | null {
  if (sample.powerW === null || usual.powerW === null || sample.pumpOn === false) return null
  const share = sample.powerW / usual.powerW
  const isOdd = share < POWER_LOW || share > POWER_HIGH
  const isNormal = share > POWER_NORMAL_LOW && share < POWER_NORMAL_HIGH
  memory.powerSinceS = isOdd ? (memory.powerSinceS ?? sample.atS) : null
  memory.normalSinceS = isNormal ? (memory.normalSinceS ?? sample.atS) : null
  const oddForS = memory.powerSinceS === null ? 0 : sample.atS - memory.powerSinceS
  if (memory.powerSinceS !== null && oddForS >= Math.max(POWER_FOR_S, usual.reportLagS)) return 'odd'
  const isMended = memory.normalSinceS !== null && sample.atS - memory.normalSinceS >= POWER_FOR_S
  return isMended ? 'normal' : null
}
