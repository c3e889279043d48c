/** One database as the flows see it. */
import type { ShardPorts } from '../../flows/ports.ts'
import { ingestStore } from './ingest-store.ts'
import { rigStore } from './rig-store.ts'
import { sourceStore } from './source-store.ts'

export type Random = (bytes: number) => Uint8Array

export function shardPorts(db: D1Database, shard: number, random: Random): ShardPorts {
  return {
    shard,
    ingest: ingestStore(db),
    rigs: rigStore(db, shard, random),
    sources: sourceStore(db, shard, random),
  }
}
