import { countedLnSd } from './counted-error.ts'
import { takenG } from './fill.ts'
import type { FillMemory } from './fill-memory.ts'
import { sensorSdPct } from './sensor-memory.ts'
import type { Work } from './work.ts'

/** What the ledger may be off in grams: by the sensor's offset, gaps and the last weighing of the jar, one standard deviation. */
export function besideSdG({ memory, settings, gridS }: Work, fill: FillMemory): number {
  const middlePct = (settings.band.startPct + settings.band.stopPct) / 2
  // A sensor that reads high has loaded the ledger of the jar's earlier fills just so: in what is left it cancels.
  const offsetG =
    fill.holds === null ? (sensorSdPct(memory.sensor, middlePct, gridS) / 100) * fill.saturatedG : 0
  return Math.hypot(offsetG, Math.sqrt(fill.gapVariance), fill.gross?.sdG ?? 0)
}

/** Water counted since the jar was last weighed, or since the bake, g. */
export function countedG(fill: FillMemory): number {
  return Math.max(0, takenG(fill) - (fill.gross?.toldG ?? 0))
}

/** Error of the ledger, g, one standard deviation. */
export function ledgerSdG(work: Work, fill: FillMemory): number {
  return Math.hypot(besideSdG(work, fill), countedLnSd(work) * countedG(fill))
}
