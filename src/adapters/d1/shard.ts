/** One database as the flows see it. */
import type { ShardPorts } from '../../flows/ports.ts'
import { alertStore } from './alert-store.ts'
import { checkStore } from './check-store.ts'
import { exportStore } from './export-store.ts'
import { historyStore } from './history-store.ts'
import { ingestStore } from './ingest-store.ts'
import { logbookStore } from './logbook-store.ts'
import { postStore } from './post-read.ts'
import { retentionStore } from './retention.ts'
import { rigStore } from './rig-store.ts'
import { sourceStore } from './source-store.ts'
import { traceStore } from './trace-store.ts'

export type Random = (bytes: number) => Uint8Array

export function shardPorts(db: D1Database, shard: number, random: Random): ShardPorts {
  return {
    shard,
    ingest: ingestStore(db),
    checks: checkStore(db, shard, random),
    rigs: rigStore(db, shard, random),
    sources: sourceStore(db, shard, random),
    logbook: logbookStore(db, shard, random),
    alerts: alertStore(db),
    traces: traceStore(db),
    exports: exportStore(db),
    history: historyStore(db, shard, random),
    posts: postStore(db),
    retention: retentionStore(db),
  }
}
