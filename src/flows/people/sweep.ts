/** What the schedule does about people: goes on with hangars and rigs being deleted, and clears away what has expired. */
import { DELETE_ROWS_PER_STEP } from '../../core/limits.ts'
import type { ShardPorts } from '../ports.ts'
import { deleteHangarStep } from './delete-hangar.ts'
import type { PeoplePorts } from './ports.ts'

type Ports = {
  readonly people: PeoplePorts
  readonly shards: readonly Pick<ShardPorts, 'shard' | 'rigs' | 'sources'>[]
}

/** Expired rows harm nobody: every look-up judges the time itself. Once an hour is often enough. */
const CLEAR_EVERY_S = 3_600
const TICK_S = 300

/** One step of one hangar and of one rig a database each tick: bounded, and sure to end. */
export async function sweepPeople(ports: Ports, nowS: number): Promise<void> {
  const [hangar] = await ports.people.hangars.deleting(1)
  if (hangar !== undefined) await deleteHangarStep(ports, hangar, { budget: DELETE_ROWS_PER_STEP, nowS })
  for (const { rigs } of ports.shards) {
    const [rig] = await rigs.leaving(null, 1)
    if (rig !== undefined) await rigs.removeStep(rig, DELETE_ROWS_PER_STEP, nowS)
  }
  if (nowS % CLEAR_EVERY_S < TICK_S) await ports.people.expiry.clear(nowS)
}
