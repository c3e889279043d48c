/** Two databases: people on the first, each hangar's rigs on its own. */
import { applyD1Migrations } from 'cloudflare:test'
import { env } from 'cloudflare:workers'
import { beforeAll, expect, test } from 'vitest'
import { shardOfId } from '../../../src/core/ids/public-id.ts'
import { healthPort } from '../../../src/adapters/d1/health.ts'
import { openHttp, openSchedule } from '../../../src/wire.ts'
import { runSchedule } from '../../../src/wire-schedule.ts'
import { HOST, makeWorld, type World } from '../people/world.ts'

const both = { ...env, DB_1: env.TEST_DB_1 }
let world: World

beforeAll(async () => {
  await applyD1Migrations(env.TEST_DB_1, env.TEST_MIGRATIONS)
  const { people, shards, ingest, health } = openHttp(both)
  world = await makeWorld({ people, shards, ingest, health })
})

async function hangarOn(shard: number, name: string) {
  const hangar = (await world.call(HOST, 'POST /v1/hangars', { name, shard })).body.id
  const { who } = await world.join(hangar, 'keeper', `Keeper of ${name}`)
  const body = { name, slug: 'same-slug', settings: { band: { start: 15, stop: 6 } } }
  const rig = (await world.call(who, `POST /v1/hangars/${hangar}/rigs`, body)).body.id
  const source = await world.call(who, `POST /v1/hangars/${hangar}/sources`, {
    name: 'Hub',
    rigs: ['same-slug'],
  })
  const key = (await world.call(who, `POST /v1/sources/${source.body.id}/keys`)).body.key
  return { hangar, who, rig: String(rig), key: String(key) }
}

const readingsIn = async (db: D1Database) =>
  (await db.prepare('SELECT count(*) AS n FROM reading').first<{ n: number }>())?.n

test('a hangar is placed when made; readings, alerts and sentences come from its own database', async () => {
  const [zero, one] = [await hangarOn(0, 'Zero'), await hangarOn(1, 'One')]
  expect([zero.rig, one.rig].map(shardOfId)).toEqual([0, 1])
  for (const place of [zero, one]) {
    const at = world.clock.nowS - 5 * 3600
    const posted = await world.call({ bearer: place.key }, 'POST /v1/readings', {
      at,
      humidity: 9,
      pump: false,
    })
    expect(posted.body.stored).toBe(1)
  }
  expect([await readingsIn(env.DB), await readingsIn(env.TEST_DB_1)]).toEqual([1, 1])

  await runSchedule(openSchedule(both), world.clock.nowS)
  for (const place of [zero, one]) {
    const now = await world.call(place.who, `GET /v1/rigs/${place.rig}/now`)
    expect(now.body.sentence).toMatch(/^Nothing heard since/)
    const alerts = await world.call(place.who, 'GET /v1/alerts')
    expect(alerts.body.items.map((alert: { rig: string }) => alert.rig)).toEqual([place.rig])
    const [alert] = alerts.body.items
    expect((await world.call(place.who, `POST /v1/alerts/${alert.id}/seen`)).body.state).toBe('seen')
  }
  expect((await world.call(HOST, 'GET /v1/alerts')).body.items).toHaveLength(2)
  expect((await world.call(HOST, 'GET /healthz')).body.host.shards).toBe(2)
})

test('nothing crosses between hangars on two databases', async () => {
  const [zero, one] = [await hangarOn(0, 'Zero too'), await hangarOn(1, 'One too')]
  for (const [mine, other] of [
    [zero, one],
    [one, zero],
  ] as const)
    for (const line of [
      `GET /v1/rigs/${other.rig}`,
      `GET /v1/rigs/${other.rig}/now`,
      `GET /v1/hangars/${other.hangar}`,
    ])
      expect((await world.call(mine.who, line)).status).toBe(404)
})

test('a hangar on the second database is deleted from both', async () => {
  const { hangar, who, rig } = await hangarOn(1, 'Leaving')
  expect((await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Leaving' })).body.isDone).toBe(true)
  const left = await env.TEST_DB_1.prepare('SELECT count(*) AS n FROM rig WHERE public_id = ?1')
    .bind(rig)
    .first()
  expect(left).toEqual({ n: 0 })
  expect((await world.call(who, `GET /v1/rigs/${rig}`)).status).toBe(404)
})

test('a database that is not bound is refused; left out, the newest one is taken', async () => {
  const refused = await world.call(HOST, 'POST /v1/hangars', { name: 'Nowhere', shard: 7 })
  expect(refused.body.errors[0].pointer).toBe('/shard')
  const { body } = await world.call(HOST, 'POST /v1/hangars', { name: 'Anywhere' })
  const settings = { band: { start: 15, stop: 6 } }
  const rig = await world.call(HOST, `POST /v1/hangars/${body.id}/rigs`, { name: 'x', slug: 'x', settings })
  expect(shardOfId(rig.body.id)).toBe(1)
})

const setChecked = (db: D1Database, atS: number) =>
  db.prepare('UPDATE schedule SET checked_s = ?1').bind(atS).run()

test('the deployment was checked when its longest unchecked database was', async () => {
  const health = healthPort([env.DB, env.TEST_DB_1])
  await setChecked(env.DB, 2_000_000)
  await setChecked(env.TEST_DB_1, 1_000_000)
  expect(await health.checkedAtS()).toBe(1_000_000)
  await setChecked(env.TEST_DB_1, 0)
  expect(await health.checkedAtS()).toBeNull()
})
