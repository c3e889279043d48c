/** The same posts over a store in memory, as many as that allows: bodies and headers of every kind, 100,000 of them. */
import { env } from 'cloudflare:workers'
import * as fc from 'fast-check'
import { expect, test } from 'vitest'
import { sourceKey } from '../../../src/core/ids/source-key.ts'
import { readRecipe } from '../../../src/core/ingest/recipe.ts'
import type { KeptReading } from '../../../src/core/ingest/reading-record.ts'
import type { HeldReading, IngestStore, SourceConfig } from '../../../src/flows/ingest-ports.ts'
import { burstGate } from '../../../src/flows/burst.ts'
import { sourceCache } from '../../../src/flows/source-cache.ts'
import { openHttp } from '../../../src/wire.ts'
import { makeWorld, type World } from '../people/world.ts'
import { expectPromised, generatedPost } from './fuzz.ts'
import { send } from './send.ts'

const RUNS = 100_000

const rig = (key: number, slug: string) => ({
  key,
  slug,
  band: { startPct: 15, stopPct: 6 },
  isOff: key === 2,
})
const RECIPE = {
  each: '/data',
  at: { from: '/at' },
  humidity: { from: '/v', unit: '%' },
  pump: { from: '/pump' },
}

function configOf(id: string, change: Partial<SourceConfig>): SourceConfig {
  return {
    sourceKey: 1,
    id,
    version: 1,
    isKeyInQuery: false,
    recipe: null,
    recipeVersion: 0,
    rigs: [rig(1, 'kestrel')],
    dayS: 0,
    dayRows: 0,
    goodKeptS: 0,
    watchedUntilS: 0,
    ...change,
  }
}

const no = () => Promise.reject(new Error('nothing of that kind is asked here'))

/** The first value at an instant stays, what is missing is filled: as the database does it. */
function storeInMemory(config: SourceConfig): IngestStore {
  const rows = new Map<string, HeldReading>()
  const take = (reading: KeptReading): 'stored' | HeldReading => {
    const { index: _, ...now } = reading
    const identity = `${now.rigKey} ${now.place} ${now.atS}`
    const before = rows.get(identity)
    if (before === undefined) {
      rows.set(identity, now)
      return 'stored'
    }
    const names = ['humidityCentiPct', 'tempCentiC', 'pumpOn', 'powerDeciW'] as const
    const isOther = names.some(
      (name) => before[name] !== null && now[name] !== null && before[name] !== now[name],
    )
    const isMore = names.some((name) => before[name] === null && now[name] !== null)
    if (isOther || !isMore) return before
    const filled = Object.fromEntries(names.map((name) => [name, before[name] ?? now[name]]))
    rows.set(identity, { ...now, ...filled })
    return 'stored'
  }
  return {
    load: () => Promise.resolve(config),
    loadOf: no,
    replay: no,
    leaveOpen: () => Promise.resolve(),
    keepPost: () => Promise.resolve(),
    store: ({ readings }) => {
      if (rows.size > 20_000) rows.clear()
      const results = readings.map(take)
      const held = results.filter((result) => result !== 'stored')
      return Promise.resolve({ kind: 'stored', stored: readings.length - held.length, held })
    },
  }
}

test(`${RUNS} generated posts`, async () => {
  const recipe = readRecipe(RECIPE)
  if (!recipe.ok) throw new Error('the recipe is not well-formed')
  const configs = [
    configOf('one', {}),
    configOf('two', { rigs: [rig(1, 'kestrel'), rig(2, 'plover')], isKeyInQuery: true }),
    configOf('recipe', { recipe: recipe.recipe, recipeVersion: 3 }),
    configOf('none', { rigs: [] }),
  ]
  const key = sourceKey(0, (bytes) => crypto.getRandomValues(new Uint8Array(bytes)))
  const worlds: World[] = []
  for (const config of configs) {
    const ingest = storeInMemory(config)
    const burst = burstGate(() => Promise.resolve(true))
    const shards = [{ shard: 0, ingest, cache: sourceCache(ingest) }]
    worlds.push(await makeWorld({ ingest: { ...openHttp(env).ingest, burst, shards }, log: () => undefined }))
  }
  const seen = new Map<number, number>()
  await fc.assert(
    fc.asyncProperty(generatedPost(key), fc.constantFrom(...worlds), async (post, world) => {
      const answer = await send(world.app, post)
      seen.set(answer.status, (seen.get(answer.status) ?? 0) + 1)
      expectPromised(answer)
    }),
    { numRuns: RUNS },
  )
  console.log(`answers by status: ${[...seen].map(([status, times]) => `${status} x ${times}`).join(', ')}`)
  for (const status of [200, 400, 401, 413, 415, 422])
    expect(seen.get(status) ?? 0, `${status}`).toBeGreaterThan(100)
})
