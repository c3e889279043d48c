import { exitOverShare } from '../beads/ensemble-evidence.ts'
import type { EndedRun, LedgerNow } from '../rules/rule.ts'
import { correctPct } from '../sensor/correction.ts'
import { takenG } from './fill.ts'
import { sensorSdPct } from './sensor-memory.ts'
import type { Work } from './work.ts'

/** A sensor may read so many of its deviations low: the air is then wetter than it shows. */
const SENSOR_SIGMAS = 2

/**
 * What the ledger makes of a run that ended: how likely it is that the beads cannot dry so far. `null` where no water is counted,
 * or nobody knows what the beads held at first.
 */
export function ledgerNow(work: Work, { endPct, tempC, toS }: EndedRun): LedgerNow | null {
  const { memory, settings } = work
  const { fill, tempC: bedC } = memory.beads
  if (fill === null || fill.ensemble === null || !fill.isKnown) return null
  if (endPct === null || settings.flowLPerMin === null) return null
  const { sensor } = memory
  const limitPct = correctPct(sensor.correction, endPct) + SENSOR_SIGMAS * sensorSdPct(sensor, endPct, toS)
  return {
    overShare: exitOverShare(fill.ensemble, limitPct, tempC ?? bedC ?? 15).share,
    takenG: takenG(fill),
  }
}
