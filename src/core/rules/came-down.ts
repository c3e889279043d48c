import type { Sample } from './rule.ts'

/** Densest air and highest reading of a run, and whether its air came down from there; `lastAtS`: last seen to have, s. */
export type CameDown = {
  topGm3: number
  highPct: number
  hasDropped: boolean
  lastAtS: number | null
}

export function startCameDown(): CameDown {
  return { topGm3: 0, highPct: 0, hasDropped: false, lastAtS: null }
}

/** A gap or a restart of the hub cuts a run in two: the second goes on with the drying of the first, s. */
const RESUMED_WITHIN_S = 3600

/** A run begins, at `runFromS`. */
export function beginCameDown(down: CameDown, runFromS: number | null): void {
  down.topGm3 = 0
  down.highPct = 0
  down.hasDropped = runFromS !== null && down.lastAtS !== null && runFromS - down.lastAtS < RESUMED_WITHIN_S
}

/**
 * Air that has come down to this share of the run's densest and of its highest RH was moved: a cooling engine takes the one
 * down, a warming box the other, nothing else both.
 */
const DROPPED_SHARE = 0.5

/** Takes a reading of the run, % RH: whether its air has come down is known whatever else may be judged. */
export function followCameDown(down: CameDown, sample: Sample, humidityPct: number): void {
  const densityGm3 = sample.densityGm3 ?? 0
  if (densityGm3 > down.topGm3) down.topGm3 = densityGm3
  else if (densityGm3 < DROPPED_SHARE * down.topGm3 && humidityPct < DROPPED_SHARE * down.highPct) {
    down.hasDropped = true
  }
  if (humidityPct > down.highPct) down.highPct = humidityPct
  if (down.hasDropped) down.lastAtS = sample.atS
}
