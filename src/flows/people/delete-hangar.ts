/** A hangar goes in bounded steps: what its rigs hold first, itself last, so that a step cut short loses track of nothing. */
import type { ShardPorts } from '../ports.ts'
import type { Hangar, PeoplePorts } from './ports.ts'

export type Step = { readonly isDone: boolean; readonly removed: number }

type Ports = {
  readonly people: PeoplePorts
  readonly shards: readonly Pick<ShardPorts, 'shard' | 'rigs' | 'sources'>[]
}

/** Removes about `budget` rows at most of what belongs to a hangar that is being deleted. */
export async function deleteHangarStep(ports: Ports, hangar: Hangar, budget: number): Promise<Step> {
  const shard = ports.shards.find((one) => one.shard === hangar.shard)
  if (shard === undefined) throw new Error(`shard ${hangar.shard} of a hangar is not bound`)
  let removed = await removeSources(shard, hangar.id)
  for (const rig of await shard.rigs.ofHangar(hangar.id)) {
    if (removed >= budget) return { isDone: false, removed }
    const step = await shard.rigs.removeStep(rig.id, budget - removed)
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
