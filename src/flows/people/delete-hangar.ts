/** A hangar goes in bounded steps: what its rigs hold first, itself last, so that a step cut short loses track of nothing. */
import { RIGS_PER_HANGAR_MAX } from '../../core/limits.ts'
import type { ShardPorts } from '../ports.ts'
import type { Hangar, PeoplePorts } from './ports.ts'

export type Step = { readonly isDone: boolean; readonly removed: number }

type Ports = {
  readonly people: PeoplePorts
  readonly shards: readonly Pick<ShardPorts, 'shard' | 'rigs' | 'sources'>[]
}

/** Removes about `budget` rows at most of what belongs to a hangar that is being deleted. */
export async function deleteHangarStep(
  ports: Ports,
  hangar: Hangar,
  { budget, nowS }: { readonly budget: number; readonly nowS: number },
): Promise<Step> {
  const shard = ports.shards.find((one) => one.shard === hangar.shard)
  if (shard === undefined) throw new Error(`shard ${hangar.shard} of a hangar is not bound`)
  let removed = await removeSources(shard, hangar.id)
  const leaving = await shard.rigs.leaving(hangar.id, RIGS_PER_HANGAR_MAX)
  const whole = (await shard.rigs.ofHangar(hangar.id)).map(({ id }) => id)
  for (const rig of [...leaving, ...whole]) {
    if (removed >= budget) return { isDone: false, removed }
    const step = await shard.rigs.removeStep(rig, budget - removed, nowS)
    removed += step.removed
    if (!step.isDone) return { isDone: false, removed }
  }
  await ports.people.hangars.remove(hangar.id)
  return { isDone: true, removed: removed + 1 }
}

/** First of all: with their keys gone nothing new comes in while the rest is being removed. */
async function removeSources(shard: Pick<ShardPorts, 'sources'>, hangar: string): Promise<number> {
  const sources = await shard.sources.ofHangar(hangar)
  for (const source of sources) await shard.sources.remove(source.id)
  return sources.length
}
