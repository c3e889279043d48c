/** A hangar with a rig and a source over a real database, a clock that the test turns, and its hub. */
import { applyD1Migrations } from 'cloudflare:test'
import { env } from 'cloudflare:workers'
import { shardPorts } from '../../../src/adapters/d1/shard.ts'
import { takeReadings } from '../../../src/adapters/http/ingest.ts'
import { BUDGETS } from '../../../src/core/limits.ts'
import type { Budgets } from '../../../src/core/limits.ts'
import type { IngestPorts } from '../../../src/flows/ingest.ts'
import { burstGate } from '../../../src/flows/burst.ts'
import { sourceCache } from '../../../src/flows/source-cache.ts'
import { countingDb } from './counting-db.ts'

export const START_S = 1_790_000_100
export const HANGAR = 'aahangarofthistestaaaaaaaa'
export const BAND = { band: { start: 15, stop: 6 } }

export type StoreWorld = Awaited<ReturnType<typeof makeStoreWorld>>

// oxlint-disable-next-line typescript/no-explicit-any -- a test looks into answers of every form
export type Reply = { status: number; body: any; headers: Headers }

export async function makeStoreWorld(change: { slugs?: readonly string[]; budgets?: Budgets } = {}) {
  await applyD1Migrations(env.DB, env.TEST_MIGRATIONS)
  const counting = countingDb(env.DB)
  const shard = shardPorts(counting.db, 0, random)
  const clock = { nowS: START_S }
  const slugs = change.slugs ?? ['kestrel']
  const hangar = `aa${Array.from(random(24), (byte) => 'abcdefghijkmnpqrstuvwxyz23456789'[byte % 32]).join('')}`
  for (const slug of slugs) {
    const made = await shard.rigs.add({ hangar, slug, name: slug, settings: BAND, nowS: START_S })
    if ('reason' in made) throw new Error(made.reason)
  }
  const source = await shard.sources.add({
    hangar,
    name: 'hub',
    rigs: slugs,
    isKeyInQuery: false,
    recipe: null,
    nowS: START_S,
  })
  if ('reason' in source) throw new Error(source.reason)
  const made = await shard.sources.addKey(source.id, START_S)
  if ('reason' in made) throw new Error(made.reason)
  const log: string[] = []
  const ports: IngestPorts = {
    budgets: change.budgets ?? BUDGETS.paid,
    randomBytes: random,
    burst: burstGate(() => Promise.resolve(true)),
    shards: [{ shard: 0, ingest: shard.ingest, cache: sourceCache(shard.ingest) }],
  }
  const send = async (init: RequestInit, path = '/v1/readings', use: IngestPorts = ports): Promise<Reply> => {
    const request = new Request(`https://hangar.test${path}`, { method: 'POST', ...init })
    const call = {
      ports: use,
      clock: () => clock.nowS,
      requestId: 'test',
      log: (line: object) => void log.push(JSON.stringify(line)),
    }
    const answer = await takeReadings(request, call)
    return { status: answer.status, body: await answer.json(), headers: answer.headers }
  }
  const post = (body: unknown, headers: Record<string, string> = {}): Promise<Reply> =>
    send({
      headers: { authorization: `Bearer ${made.key}`, 'content-type': 'application/json', ...headers },
      body: typeof body === 'string' ? body : JSON.stringify(body),
    })
  const rigs = await shard.rigs.ofHangar(hangar)
  return {
    ...counting,
    raw: env.DB,
    shard,
    clock,
    hangar,
    rigs,
    source: source.id,
    key: made.key,
    keyId: made.id,
    ports,
    send,
    post,
    log,
  }
}

function random(bytes: number): Uint8Array {
  return crypto.getRandomValues(new Uint8Array(bytes))
}

export function at(seconds: number): string {
  return new Date(seconds * 1000).toISOString().replace('.000', '')
}
