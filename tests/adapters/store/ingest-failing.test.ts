/** The database failing at each statement of a post in turn: nothing is half written, the hub is told to come again. */
import { env } from 'cloudflare:workers'
import { expect, test } from 'vitest'
import { ingestStore } from '../../../src/adapters/d1/ingest-store.ts'
import type { IngestPorts } from '../../../src/flows/ingest.ts'
import { sourceCache } from '../../../src/flows/source-cache.ts'
import { breakingDb } from './breaking-db.ts'
import { at, makeStoreWorld, START_S, type StoreWorld } from './store-world.ts'

function portsOver(world: StoreWorld, db: D1Database): IngestPorts {
  const ingest = ingestStore(db)
  return { ...world.ports, shards: [{ shard: 0, ingest, cache: sourceCache(ingest) }] }
}

/** All that a post may touch. */
async function everything(): Promise<string> {
  const tables = ['reading', 'post', 'source', 'memory', 'source_key']
  const found = await env.DB.batch(tables.map((table) => env.DB.prepare(`SELECT * FROM ${table}`)))
  return JSON.stringify(found.map(({ results }) => results))
}

test('no statement that fails leaves anything behind, and the next try stores it all', async () => {
  const world = await makeStoreWorld({ slugs: ['kestrel', 'plover'] })
  // Fresh, late, of two rigs and two places, and one set aside: every kind of statement that a post can need.
  const records = [
    { at: at(START_S), humidity: 9, rig: 'kestrel' },
    { at: at(START_S - 86_400), humidity: 9, rig: 'kestrel', place: 'ambient' },
    { at: at(START_S - 86_400), humidity: 8, rig: 'plover', pump: true },
    { at: at(START_S - 60), humidity: 'unavailable', rig: 'plover' },
  ]
  const init = {
    headers: { authorization: `Bearer ${world.key}`, 'content-type': 'application/json' },
    body: JSON.stringify(records),
  }
  const before = await everything()
  let failures = 0
  for (let failing = 0; ; failing++) {
    const breaking = breakingDb(env.DB, failing)
    const answer = await world.send(init, '/v1/readings', portsOver(world, breaking.db))
    if (breaking.sent.length <= failing) {
      // Every statement has had its turn: this one went through.
      expect(answer.body).toMatchObject({ received: 4, stored: 3, setAsideTotal: 1 })
      break
    }
    failures += 1
    expect(answer.status).toBe(503)
    expect(Number(answer.headers.get('retry-after'))).toBeGreaterThan(0)
    expect(answer.body.type).toBe('/problems/unavailable')
    expect(await everything()).toBe(before)
  }
  expect(failures).toBeGreaterThanOrEqual(8)
  const again = await world.send(init)
  expect(again.body).toMatchObject({ stored: 0, repeated: 3, setAsideTotal: 1 })
})
