/** Which database holds a thing: its id says so. */
import { shardOfId } from '../../core/ids/public-id.ts'
import type { ShardPorts } from '../../flows/ports.ts'
import type { HttpPorts } from './context.ts'

/** The access check has found the thing, so its database is bound. Throws otherwise: a broken invariant. */
export function shardOf(ports: HttpPorts, id: string): ShardPorts {
  const shard = shardNumbered(ports, shardOfId(id))
  if (shard === null) throw new Error('an id points to a database that is not bound')
  return shard
}

export function shardNumbered(ports: HttpPorts, number: number | null): ShardPorts | null {
  return ports.shards.find(({ shard }) => shard === number) ?? null
}
