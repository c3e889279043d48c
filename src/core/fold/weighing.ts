import type { BeadsMemory } from './fill-memory.ts'

/** Error of a kitchen or luggage scale on a difference: 5 g and 2 %; and what one fill's ledger is off beside the flow. */
const SCALE_SD_G = 5
const SCALE_SD_SHARE = 0.02
const LEDGER_SCATTER = 0.08

/** True water per ledger gram, by a weighing: the flow's belief moves, and with it what the jar is believed to hold. */
export function takeWeighing(beads: BeadsMemory, weighedG: number, ledgerG: number): void {
  if (!(weighedG > 0) || !(ledgerG > 5)) return
  const sd = Math.hypot(SCALE_SD_G / weighedG, SCALE_SD_SHARE, LEDGER_SCATTER)
  const { flowLn } = beads
  // The ledger already carries the belief so far.
  const seen = flowLn.mean + Math.max(-1, Math.min(1, Math.log(weighedG / ledgerG)))
  const precision = 1 / flowLn.sd ** 2
  const added = 1 / sd ** 2
  flowLn.mean = (flowLn.mean * precision + seen * added) / (precision + added)
  flowLn.sd = Math.max(0.03, Math.sqrt(1 / (precision + added)))
}
