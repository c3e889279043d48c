/** Old readings go in bounded steps, round all rigs; what was worked out from them stays. */
import { env } from 'cloudflare:workers'
import { beforeAll, expect, test } from 'vitest'
import { POST_KEPT_DAYS, RAW_KEPT_DAYS } from '../../../src/core/limits.ts'
import { retentionStore } from '../../../src/adapters/d1/retention.ts'
import { makeStoreWorld, START_S } from './store-world.ts'

const DAY_S = 86_400
const CUT_S = START_S - RAW_KEPT_DAYS * DAY_S

beforeAll(async () => {
  await makeStoreWorld({ slugs: ['one', 'two', 'three'] })
  await env.DB.prepare(
    `WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 999)
     INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct)
     SELECT rig_id, p.value, ?1 + (n.i - 500) * 300, 900 FROM rig, n, json_each('[0, 2]') p`,
  )
    .bind(CUT_S)
    .run()
  await env.DB.prepare('UPDATE memory SET grid_s = ?1').bind(START_S).run()
  await env.DB.prepare(
    `INSERT INTO rollup (rig_id, place, span_s, from_s, heard_s) SELECT rig_id, 0, 86400, 0, 60 FROM rig`,
  ).run()
  await env.DB.prepare(
    `INSERT INTO post (source_id, kind, slot, public_id, at_s, body, is_zipped, is_cut, recipe_version, result)
     SELECT source_id, 'set-aside', j.value, source_id || '-' || j.value, ?1 - j.value * ?2, x'00', 0, 0, 0, '{}'
     FROM source, json_each('[1, 29, 31]') j`,
  )
    .bind(START_S, DAY_S)
    .run()
})

const most = (rowsMax: number) => ({ rowsMax, rigsMax: 2 })
const count = (sql: string) => env.DB.prepare(`SELECT count(*) AS n FROM ${sql}`).first<number>('n')
const old = () => count(`reading WHERE at_s < ${CUT_S}`)

test('a step removes no more than it may, goes on where it stopped, and comes round to every rig', async () => {
  const { clean } = retentionStore(env.DB)
  expect(await old()).toBe(3 * 2 * 500)
  expect(await clean(START_S, most(700))).toBe(700)
  expect(await old()).toBe(3000 - 700)
  let steps = 1
  while ((await old()) !== 0 && steps < 20) {
    expect(await clean(START_S, most(700))).toBeLessThanOrEqual(700)
    steps += 1
  }
  expect(steps).toBeLessThanOrEqual(7)
  expect(await old()).toBe(0)
  expect(await count(`reading WHERE at_s >= ${CUT_S}`)).toBe(3 * 2 * 500)
  expect(await count('rollup')).toBe(3)
  expect(await count('post')).toBe(2 * ((await count('source')) ?? 0))
  expect(POST_KEPT_DAYS).toBe(30)
})

test('with nothing old it removes nothing and reads next to nothing', async () => {
  expect(await retentionStore(env.DB).clean(START_S, most(1000))).toBe(0)
  const { meta } = await env.DB.prepare(
    'SELECT 1 FROM reading WHERE rig_id = 1 AND place IN (0, 1, 2, 3) AND at_s < ?1 LIMIT 10',
  )
    .bind(CUT_S)
    .run()
  expect(meta.rows_read).toBeLessThanOrEqual(8)
})

const rounds = async (nowS: number) => {
  for (let tick = 0; tick < 6; tick++) await retentionStore(env.DB).clean(nowS, most(1000))
}

test('posts of a source whose rigs are gone are not kept longer than others', async () => {
  const world = await makeStoreWorld({ slugs: ['gone'] })
  await world.post({ humidity: 'none' })
  const kept = async () =>
    (await world.shard.posts.ofSource(world.source, { after: null, limit: 10 }, START_S))?.items.length
  const rig = world.rigs[0]?.id ?? ''
  while (!(await world.shard.rigs.removeStep(rig, 1000, START_S)).isDone);
  expect(await kept()).toBe(1)
  await rounds(START_S + (POST_KEPT_DAYS - 1) * DAY_S)
  expect(await kept()).toBe(1)
  await rounds(START_S + (POST_KEPT_DAYS + 1) * DAY_S)
  expect(await kept()).toBe(0)
})
