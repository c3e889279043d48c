import { FLIGHT_MIN } from '../rules/drying.ts'
import type { Memory } from './memory.ts'

/** Films and oil give back what a flight left in them for days, s; a pump takes out most of it in one. */
const WET_S = 4 * 86_400
const DRIES_IN_S = 86_400

/** When the engine was last wetted, as far as anybody can tell, s. */
export function lastWetS({ log, gate, unhooked, firstAtS }: Memory): number {
  const unseenS = log.offMin >= FLIGHT_MIN ? (log.offEndedAtS ?? 0) : 0
  return Math.max(firstAtS, log.flightAtS ?? 0, gate.wettedAtS ?? 0, unhooked.lastAtS ?? 0, unseenS)
}

/**
 * Probability that what holds the air of a run up, pumped since `runFromS` until `atS` (Unix s), is water in the engine and not the
 * beads: none once a run has come down to `stop` since the engine was wetted, or after four days.
 */
export function wetShare(memory: Memory, runFromS: number, atS: number): number {
  const wetS = lastWetS(memory)
  if ((memory.lastStopS ?? 0) > wetS || atS - wetS > WET_S) return 0
  return Math.exp(-Math.max(0, atS - runFromS) / DRIES_IN_S)
}
