import { heardHangarC } from './ambient.ts'
import { ledgerScatter } from './weighing.ts'
import type { Work } from './work.ts'

/**
 * Without a temperature grams are counted at the stated one, and saturated air holds 6.5 % more for every kelvin. Between a
 * temperate hangar's summer and winter lie 16 K (the amplitude is 3 K on an island, 12 inland), and a sine is off its mean
 * by 0.71 of its amplitude: 5.7 K.
 */
const SATURATION_LN_PER_K = 0.065
const SEASON_SD_K = 5.7
const SEASON_LN_SD = SATURATION_LN_PER_K * SEASON_SD_K

/** What the season adds to the error of counted water, ln, where neither the return nor the hangar has a temperature. */
export function seasonLnSd({ memory, gridS }: Work): number {
  const isBlind = memory.places.return.latest?.tempC === null && heardHangarC(memory, gridS) === null
  return isBlind ? SEASON_LN_SD : 0
}

/** Error of counted water as a share: the flow, what a ledger is off beside it, and the season. */
export function countedLnSd(work: Work): number {
  const { beads } = work.memory
  return Math.hypot(beads.flowLn.sd, ledgerScatter(beads), seasonLnSd(work))
}
