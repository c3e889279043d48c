/**
 * Posts of readings beside a Worker that only parses and inserts them: the share of its rate that is left when keys,
 * recipes, conflicts, late readings and set-aside records are looked after. Then a year's back-fill by the uploader, the
 * whole program with its start, beside the bare insert of the same rows. `npm run bench:ingest`
 */
import { backfill } from './backfill.ts'
import { makeWorkerWorld, median, quantile } from './worker-world.ts'

const ROUNDS = 11
const SINGLES = 60
const BATCH = 5000
const TARGET = 0.7
const START_S = Math.floor(Date.now() / 1000) - 400 * 86_400

const world = await makeWorkerWorld()
const hangar = (await world.asHost('/v1/hangars', { name: 'Bench' })).id
const settings = { band: { start: 15, stop: 6 } }
await world.asHost(`/v1/hangars/${hangar}/rigs`, { name: 'Bench', slug: 'bench', settings })
const source = (await world.asHost(`/v1/hangars/${hangar}/sources`, { name: 'Bench', rigs: ['bench'] })).id
const { key } = await world.asHost(`/v1/sources/${source}/keys`)

let next = 0
/** A reading a minute, long ago: what a back-fill posts. */
function old(): object {
  next += 1
  return record(START_S + 60 * next, 'return')
}

const PLACES = ['return', 'supply', 'ambient', 'engine'] as const
let fresh = 0
const NOW_S = Math.floor(Date.now() / 1000)
/** Of the last minutes, each instant and place once: what a hub posts. */
function now(): object {
  fresh += 1
  return record(NOW_S - (fresh % 500), PLACES[Math.floor(fresh / 500) % 4] ?? 'return')
}

function record(atS: number, place: string): object {
  return {
    at: new Date(atS * 1000).toISOString(),
    humidity: 6 + (next % 900) / 100,
    temperature: 15 + (next % 40) / 10,
    pump: next % 12 === 0,
    place,
  }
}

type Way = { readonly name: string; readonly post: (body: string) => Promise<{ stored: number }> }
const json = async (answer: { status: number; text: () => Promise<string> }): Promise<{ stored: number }> => {
  const text = await answer.text()
  if (answer.status !== 200) throw new Error(text)
  return JSON.parse(text)
}
const ways: readonly [Way, Way] = [
  {
    name: 'beadwatch',
    post: async (body) =>
      json(
        await world.ours.fetch('http://localhost/v1/readings', {
          method: 'POST',
          headers: { authorization: `Bearer ${key}`, 'content-type': 'application/json' },
          body,
        }),
      ),
  },
  { name: 'bare', post: async (body) => json(await world.bare(body)) },
]

/** Milliseconds of each post; throws if one was not stored whole. */
async function run(way: Way, posts: readonly (readonly object[])[]): Promise<number[]> {
  const taken: number[] = []
  for (const records of posts) {
    const body = JSON.stringify(records.length === 1 ? records[0] : records)
    const fromMs = performance.now()
    const { stored } = await way.post(body)
    taken.push(performance.now() - fromMs)
    if (stored !== records.length) throw new Error(`${way.name} stored ${stored} of ${records.length}`)
  }
  return taken
}

const sum = (values: readonly number[]) => values.reduce((all, value) => all + value, 0)

async function compare(name: string, posts: () => readonly (readonly object[])[]): Promise<void> {
  for (const way of ways) await run(way, posts())
  const ratios: number[] = []
  const all: Record<string, number[]> = { beadwatch: [], bare: [] }
  for (let round = 0; round < ROUNDS; round++) {
    const took: Record<string, number> = {}
    // Turn about, so that neither always goes first.
    for (const way of round % 2 === 0 ? ways : ways.toReversed()) {
      const times = await run(way, posts())
      took[way.name] = sum(times)
      all[way.name]?.push(...times)
    }
    ratios.push((took['bare'] ?? 0) / (took['beadwatch'] ?? 1))
  }
  const ratio = median(ratios)
  const p = (way: string, share: number) =>
    quantile(all[way] ?? [], share)
      .toFixed(1)
      .padStart(7)
  console.log(`${name}: ${ratio.toFixed(2)} of the bare rate (median of ${ROUNDS} rounds, target ${TARGET})`)
  for (const { name: way } of ways)
    console.log(`  ${way.padEnd(10)} p50 ${p(way, 0.5)} ms  p99 ${p(way, 0.99)} ms`)
}

try {
  await compare('single posts', () => Array.from({ length: SINGLES }, () => [now()]))
  if (process.env.SINGLE === undefined)
    await compare(`batches of ${BATCH}`, () => [Array.from({ length: BATCH }, old)])
  await backfill(world, key)
} finally {
  await world.stop()
}
