/** What is known of a rig at this moment: the analysis as it stands, the newest readings, the alerts that are not over. */
import type { Reading } from '../core/fold/inputs.ts'
import { unpackMemory } from '../core/fold/memory.ts'
import type { SensorMemory } from '../core/fold/sensor-memory.ts'
import { lookAt, type View } from '../core/fold/view.ts'
import type { AlertRow, ShardPorts } from './ports.ts'

export type RigNow = {
  /** `null` until the analysis has taken in a first reading, or while it is being rebuilt. */
  readonly view: View | null
  /** What the salt checks of its return sensor came to. */
  readonly sensor: SensorMemory | null
  readonly latest: readonly Reading[]
  readonly alerts: readonly AlertRow[]
}

export async function lookAtRig(
  shard: Pick<ShardPorts, 'traces' | 'alerts'>,
  of: { readonly rig: string; readonly hangar: string; readonly nowS: number },
): Promise<RigNow> {
  const [memory, latest, alerts] = await Promise.all([
    shard.traces.memory(of.rig),
    shard.traces.latest(of.rig),
    shard.alerts.open([of.hangar]),
  ])
  const unpacked = memory?.body === undefined || memory.body === null ? null : unpackMemory(memory.body)
  const view =
    unpacked?.ok === true ? lookAt(unpacked.memory, Math.max(of.nowS, unpacked.memory.gridS)) : null
  const sensor = unpacked?.ok === true ? unpacked.memory.sensor : null
  return { view, sensor, latest, alerts: alerts.filter(({ rig }) => rig === of.rig) }
}
