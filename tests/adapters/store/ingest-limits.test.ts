/** The limits of ingest, each by what a hub and its owner see of it. */
import { env } from 'cloudflare:workers'
import { expect, test } from 'vitest'
import {
  BUDGETS,
  GOOD_POSTS_MAX,
  POST_KEPT_MAX_BYTES,
  POST_SHOWN_MAX_BYTES,
  SET_ASIDE_POSTS_MAX,
} from '../../../src/core/limits.ts'
import type { ShownPost } from '../../../src/flows/ports.ts'
import { sourceCache } from '../../../src/flows/source-cache.ts'
import { openHttp } from '../../../src/wire.ts'
import { makeStoreWorld, START_S } from './store-world.ts'

const DAY_S = 86_400
const hex = (byte: number) => byte.toString(16).padStart(2, '0')
const noiseOf = (bytes: number) => Array.from(crypto.getRandomValues(new Uint8Array(bytes)), hex).join('')
const records = (count: number, fromS = START_S - DAY_S) =>
  Array.from({ length: count }, (_, i) => ({ at: fromS + i, humidity: 9 }))

const postsOf = async (world: Awaited<ReturnType<typeof makeStoreWorld>>) =>
  (await world.shard.posts.ofSource(world.source, { after: null, limit: 200 }, world.clock.nowS))?.items ?? []

test('over the burst limit: 429, and the hub is told when to come back; another source is not held up', async () => {
  const { burst } = openHttp(env).ingest
  const [loud, quiet] = [await makeStoreWorld(), await makeStoreWorld()]
  const post = (world: typeof loud) =>
    world.send(
      { headers: { authorization: `Bearer ${world.key}` }, body: JSON.stringify({ humidity: 9 }) },
      '/v1/readings',
      { ...world.ports, burst },
    )
  // The limiter counts approximately; three times its limit is over it for certain.
  const answers = []
  for (let i = 0; i < 360; i++) answers.push(await post(loud))
  const refused = answers.filter(({ status }) => status === 429)
  expect(answers[0]?.status).toBe(200)
  expect(refused.length).toBeGreaterThan(100)
  expect(refused[0]?.headers.get('content-type')).toBe('application/problem+json')
  expect(refused[0]?.body).toMatchObject({ status: 429, type: '/problems/too-many-posts' })
  expect(Number(refused[0]?.headers.get('retry-after'))).toBeGreaterThan(0)
  expect((await post(quiet)).status).toBe(200)
})

test('over the day’s allowance: 429 until midnight UTC, with the number; the next day it is open again', async () => {
  const world = await makeStoreWorld({ budgets: { ...BUDGETS.free, sourceRowsPerDay: 5 } })
  expect((await world.post(records(3))).body.stored).toBe(3)
  // What is repeated is not stored and does not count.
  expect((await world.post(records(3))).body.repeated).toBe(3)
  expect((await world.post(records(3, START_S - 2 * DAY_S))).body.stored).toBe(3)
  const refused = await world.post(records(1, START_S - 3 * DAY_S))
  expect(refused.status).toBe(429)
  expect(refused.body.detail).toContain('5 readings')
  expect(refused.headers.get('retry-after')).toBe(String(DAY_S - (START_S % DAY_S)))
  world.clock.nowS += DAY_S
  expect((await world.post(records(1, START_S - 3 * DAY_S))).body.stored).toBe(1)
})

test('what another isolate still counts of yesterday takes nothing off today’s allowance', async () => {
  const budgets = { ...BUDGETS.free, sourceRowsPerDay: 5 }
  const world = await makeStoreWorld({ budgets })
  const other = sourceCache(world.shard.ingest)
  const shards = world.ports.shards.map((shard) => Object.assign({}, shard, { cache: other }))
  const yesterday = { headers: { authorization: `Bearer ${world.key}` }, body: JSON.stringify(records(3)) }
  expect((await world.send(yesterday, '/v1/readings', { ...world.ports, shards })).body.stored).toBe(3)
  world.clock.nowS += DAY_S
  expect((await world.post(records(5, START_S - 2 * DAY_S))).body.stored).toBe(5)
  world.clock.nowS += 120
  // This isolate adds up what it stored today, then the other what it stored yesterday.
  expect((await world.post(records(1, START_S - 3 * DAY_S))).status).toBe(429)
  await world.send(yesterday, '/v1/readings', { ...world.ports, shards })
  world.clock.nowS += 120
  expect((await world.post(records(1, START_S - 3 * DAY_S))).status).toBe(429)
})

test.each([
  ['free', 500],
  ['paid', 5000],
] as const)('on the %s plan a post holds %i records', async (plan, most) => {
  const world = await makeStoreWorld({ budgets: BUDGETS[plan] })
  const over = await world.post(records(most + 1))
  expect(over.status).toBe(413)
  expect(over.body.detail).toContain(`${most + 1} records: at most ${most}`)
  expect((await world.post(records(most))).body.stored).toBe(most)
})

test('of posts with something set aside the newest hundred are kept', async () => {
  const world = await makeStoreWorld()
  for (let i = 0; i < SET_ASIDE_POSTS_MAX + 5; i++) {
    world.clock.nowS += 1
    expect((await world.post({ humidity: `no ${i}` })).body.setAsideTotal).toBe(1)
  }
  const kept = await postsOf(world)
  const bodies = kept.filter(({ kind }) => kind === 'set-aside').map(({ body }) => body)
  expect(bodies).toHaveLength(SET_ASIDE_POSTS_MAX)
  expect(bodies[0]).toContain('no 104')
  expect(bodies.at(-1)).toContain('no 5')
})

test('good posts kept between them take no place from those with something set aside', async () => {
  const world = await makeStoreWorld()
  // Somebody has the Hub page open: every good post is kept.
  await postsOf(world)
  for (let i = 0; i < 60; i++) {
    world.clock.nowS += 1
    expect((await world.post({ humidity: `no ${i}` })).body.setAsideTotal).toBe(1)
    expect((await world.post({ humidity: 9 })).body.stored).toBe(1)
  }
  const kinds = (await postsOf(world)).map(({ kind }) => kind)
  expect(kinds.filter((kind) => kind === 'set-aside')).toHaveLength(60)
  expect(kinds.filter((kind) => kind === 'good')).toHaveLength(GOOD_POSTS_MAX)
})

test('a post too long to be kept whole is kept cut, and says so; one that zips well is kept whole', async () => {
  const world = await makeStoreWorld()
  const noise = noiseOf(50_000) + noiseOf(50_000)
  await world.post({ humidity: 'none', note: noise })
  world.clock.nowS += 1
  await world.post({ humidity: 'none', note: 'x'.repeat(2 * POST_KEPT_MAX_BYTES) })
  const [zipped, cut] = await postsOf(world)
  expect(cut?.isCut).toBe(true)
  expect(cut?.body.length).toBe(POST_KEPT_MAX_BYTES)
  expect(zipped?.isCut).toBe(false)
  const whole = await world.shard.posts.byId(world.source, zipped?.id ?? '')
  expect(whole?.body.length).toBeGreaterThan(2 * POST_KEPT_MAX_BYTES)
})

test('a list of posts shows the first 64 KiB of each, says so, and pages: no post twice, none left out', async () => {
  const world = await makeStoreWorld()
  // Two bytes a character, from an odd place on: the cut goes through one.
  await world.post({ humidity: 'none', note: 'é'.repeat(400_000) })
  for (let i = 0; i < 4; i++) {
    if (i % 2 === 0) world.clock.nowS += 1
    await world.post({ humidity: `no ${i}` })
  }
  const seen: (ShownPost | undefined)[] = []
  let after: string | null = null
  for (let pages = 0; pages < 4; pages++) {
    const page: { after: string | null; limit: number } = { after, limit: 2 }
    const read = await world.shard.posts.ofSource(world.source, page, world.clock.nowS)
    seen.push(...(read?.items ?? []))
    after = read?.next ?? null
    if (after === null) break
  }
  expect(seen.map((post) => post?.isBodyCut)).toEqual([false, false, false, false, true])
  expect(new Set(seen.map((post) => post?.id)).size).toBe(5)
  const long = seen[4]
  expect(long?.isCut).toBe(false)
  expect(new TextEncoder().encode(long?.body).length).toBe(POST_SHOWN_MAX_BYTES - 1)
  expect(long?.body.endsWith('é')).toBe(true)
})

test('a broken zip is named and kept as it came', async () => {
  const world = await makeStoreWorld()
  const answer = await world.send({
    headers: { authorization: `Bearer ${world.key}`, 'content-encoding': 'gzip' },
    body: 'not gzip',
  })
  expect(answer.status).toBe(400)
  expect(answer.body.detail).toContain('not valid gzip')
  const [kept] = await postsOf(world)
  expect(kept).toMatchObject({ kind: 'set-aside', body: 'not gzip', readAs: null })
})
