/** A post of many series at once, and the marks for late readings: only rigs that heard something new go back. */
import { env } from 'cloudflare:workers'
import { expect, test } from 'vitest'
import { BURST_HANDFUL } from '../../../src/core/limits.ts'
import { burstGate } from '../../../src/flows/burst.ts'
import { at, makeStoreWorld, START_S, type StoreWorld } from './store-world.ts'

const LATE_S = START_S - 86_400
const PLACES = ['return', 'supply', 'ambient', 'engine'] as const

async function marks(world: StoreWorld): Promise<Record<string, number | null>> {
  const found = await env.DB.prepare(
    'SELECT r.slug, m.rewind_from_s AS mark FROM memory m JOIN rig r ON r.rig_id = m.rig_id WHERE r.hangar = ?1',
  )
    .bind(world.hangar)
    .all<{ slug: string; mark: number | null }>()
  return Object.fromEntries(found.results.map(({ slug, mark }) => [slug, mark]))
}

async function clearMarks(): Promise<void> {
  await env.DB.prepare(`UPDATE memory SET rewind_from_s = NULL, grid_s = ${START_S}`).run()
}

/** With one place the post is stored in parts, with all four in one go. */
test.each([
  ['in parts', 1],
  ['in one go', 4],
])('%s: new, repeated, filled and differing readings are told apart, rig by rig', async (_, places) => {
  const slugs = ['kestrel', 'plover', 'heron']
  const world = await makeStoreWorld({ slugs })
  const records = (values: Record<string, object>) =>
    slugs.flatMap((rig) =>
      PLACES.slice(0, places).flatMap((place) => [{ rig, place, at: at(LATE_S), ...values[rig] }]),
    )
  const first = await world.post(
    records({ kestrel: { humidity: 9 }, plover: { humidity: 9 }, heron: { humidity: 9 } }),
  )
  expect(first.body).toMatchObject({ stored: 3 * places, repeated: 0, setAsideTotal: 0 })
  expect(await marks(world)).toEqual({ kestrel: LATE_S, plover: LATE_S, heron: LATE_S })
  await clearMarks()

  const second = await world.post(
    records({
      kestrel: { humidity: 9 },
      plover: { humidity: 9, temperature: 12 },
      heron: { humidity: 8, temperature: 12 },
    }),
  )
  expect(second.body).toMatchObject({ stored: places, repeated: places, setAsideTotal: places })
  expect(second.body.setAside.map((one: { reason: string }) => one.reason)).toEqual(
    Array.from({ length: places }, () => 'conflict'),
  )
  expect(await marks(world)).toEqual({ kestrel: null, plover: LATE_S, heron: null })
})

test('a hub that repeats its last values with each new one costs no mark and one row', async () => {
  const world = await makeStoreWorld()
  const old = Array.from({ length: 20 }, (_, i) => ({ at: at(LATE_S + i * 300), humidity: 9 }))
  await world.post(old)
  await clearMarks()
  world.take()
  const again = await world.post([...old, { at: at(START_S), humidity: 9 }])
  expect(again.body).toMatchObject({ stored: 1, repeated: 20 })
  expect(world.take()).toMatchObject({ trips: 1, written: 1 })
  expect(await marks(world)).toEqual({ kestrel: null })
})

test('a record of one post may differ from an earlier one of it', async () => {
  const world = await makeStoreWorld()
  const post = await world.post([
    { at: at(START_S), humidity: 9 },
    { at: at(START_S), temperature: 12 },
    { at: at(START_S), humidity: 10 },
    { at: at(START_S), humidity: 9, temperature: 12 },
  ])
  expect(post.body).toMatchObject({ received: 4, stored: 2, repeated: 1, setAsideTotal: 1 })
  expect(post.body.setAside[0]).toMatchObject({ index: 2, reason: 'conflict' })
})

test('the limiter is asked once for a handful of posts, and for each while the source is over its limit', async () => {
  const world = await makeStoreWorld()
  let asked = 0
  let isWithin = true
  const burst = burstGate(() => Promise.resolve((asked++, isWithin)))
  const ports = { ...world.ports, burst }
  const post = async () => {
    const headers = { authorization: `Bearer ${world.key}` }
    return (await world.send({ headers, body: '{"humidity": 9}' }, '/v1/readings', ports)).status
  }
  for (let i = 0; i < 2 * BURST_HANDFUL; i++) expect(await post()).toBe(200)
  expect(asked).toBe(2)
  isWithin = false
  // The first of the next handful is taken while the limiter is asked; then the hub is held up until it says yes.
  expect([await post(), await post(), await post()]).toEqual([200, 429, 429])
  expect(asked).toBe(5)
  isWithin = true
  expect(await post()).toBe(200)
  expect(await post()).toBe(200)
  expect(asked).toBe(6)
  // What was let in ahead lasts a minute.
  world.clock.nowS += 61
  expect(await post()).toBe(200)
  expect(asked).toBe(7)
})
