import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
import { DELETE_ROWS_PER_STEP, EXPIRED_KEPT_S, SESSION_IDLE_S } from '../../../src/core/limits.ts'
import { sweepPeople } from '../../../src/flows/people/sweep.ts'
import { openHttp } from '../../../src/wire.ts'
import { makeWorld, NOBODY, type World } from './world.ts'

let world: World
beforeAll(async () => {
  world = await makeWorld()
})

async function hangarWithReadings(name: string, readings: number) {
  const hangar = await world.hangar(name)
  const { who } = await world.join(hangar, 'keeper', 'Mira')
  const body = { name: 'Rig', slug: 'rig', settings: { band: { start: 15, stop: 6 } } }
  const rig = await world.call(who, `POST /v1/hangars/${hangar}/rigs`, body)
  const source = await world.call(who, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: ['rig'] })
  const key = await world.call(who, `POST /v1/sources/${source.body.id}/keys`)
  await env.DB.prepare(
    `WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < ?2 - 1)
     INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct) SELECT rig_id, 0, n.i, 900 FROM rig, n WHERE public_id = ?1`,
  )
    .bind(rig.body.id, readings)
    .run()
  return { hangar, who, rig: String(rig.body.id), key: String(key.body.key) }
}

/** Tables that hold something, with how much. */
async function filled(): Promise<Record<string, number>> {
  const { results } = await env.DB.prepare(
    "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE '\\_%' ESCAPE '\\' AND name NOT LIKE 'sqlite%'",
  ).all<{ name: string }>()
  const counts: Record<string, number> = {}
  for (const { name } of results) {
    const row = await env.DB.prepare(`SELECT count(*) AS n FROM "${name}"`).first<{ n: number }>()
    if ((row?.n ?? 0) > 0) counts[name] = row?.n ?? 0
  }
  return counts
}

/** One row of this table for the hangar's rig, with some value in every column that needs one. */
async function addRow(table: string, hangar: string): Promise<void> {
  const { results } = await env.DB.prepare(`PRAGMA table_info("${table}")`).all<Column>()
  const others = results.filter((column) => column.name !== 'rig_id' && column.notnull === 1)
  const names = others.map((column) => `, "${column.name}"`).join('')
  await env.DB.prepare(
    `INSERT OR IGNORE INTO "${table}" (rig_id${names}) SELECT rig_id${others.map(valueFor).join('')} FROM rig WHERE hangar = ?1`,
  )
    .bind(hangar)
    .run()
  const made = await env.DB.prepare(
    `SELECT count(*) > 0 AS is_there FROM "${table}" WHERE rig_id = (SELECT rig_id FROM rig WHERE hangar = ?1)`,
  )
    .bind(hangar)
    .first()
  expect([table, made]).toEqual([table, { is_there: 1 }])
}

type Column = { name: string; type: string; notnull: number }

function valueFor({ name, type }: Column): string {
  if (name === 'source_id') return ', (SELECT max(source_id) FROM source)'
  return type === 'INTEGER' ? ', 7' : ", 'x'"
}

describe('deleting a hangar', () => {
  test('goes in bounded steps, hides it at once, says when it is done, and leaves nothing', async () => {
    const before = await filled()
    const { hangar, who, rig, key } = await hangarWithReadings('Large', 2 * DELETE_ROWS_PER_STEP + 100)
    const first = await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Large' })
    expect(first.status).toBe(202)
    expect(first.body.isDone).toBe(false)
    expect(first.body.removed).toBeLessThanOrEqual(DELETE_ROWS_PER_STEP + 10)

    expect((await world.call(who, `GET /v1/rigs/${rig}`)).status).toBe(404)
    expect((await world.call(who, 'GET /v1/me')).body.hangars).toEqual([])
    expect((await world.call({ bearer: key }, 'POST /v1/readings', { humidity: 9 })).status).toBe(401)
    expect((await world.call(who, `GET /v1/hangars/${hangar}`)).body.deletingSince).toMatch(/Z$/)

    let steps = 1
    for (let isDone = false; !isDone && steps < 10; steps++)
      isDone = (await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Large' })).body.isDone
    expect(steps).toBe(3)
    expect((await world.call(who, `GET /v1/hangars/${hangar}`)).status).toBe(404)
    const { person = 0, session = 0 } = before
    expect(await filled()).toEqual({ ...before, person: person + 1, session: session + 1 })
  })

  test('goes on by the schedule when nobody asks again', async () => {
    const { hangar, who } = await hangarWithReadings('Left alone', DELETE_ROWS_PER_STEP + 100)
    await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Left alone' })
    const ports = openHttp(env)
    for (let tick = 0; tick < 3; tick++) await sweepPeople(ports, world.clock.nowS)
    expect((await world.call(who, `GET /v1/hangars/${hangar}`)).status).toBe(404)
  })

  test('knows every table that speaks of a rig', async () => {
    const { hangar, who } = await hangarWithReadings('Tables', 3)
    const { results } = await env.DB.prepare(
      "SELECT name FROM sqlite_master WHERE type = 'table' AND sql LIKE '%rig_id %' AND name <> 'schedule'",
    ).all<{ name: string }>()
    expect(results.length).toBeGreaterThan(10)
    for (const { name } of results) if (name !== 'rig') await addRow(name, hangar)
    for (let step = 0; step < 5; step++)
      await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Tables' })
    for (const { name } of results) {
      const left = await env.DB.prepare(
        `SELECT count(*) AS n FROM "${name}" WHERE rig_id NOT IN (SELECT rig_id FROM rig)`,
      ).first()
      expect([name, left]).toEqual([name, { n: 0 }])
    }
    expect((await world.call(who, `GET /v1/hangars/${hangar}`)).status).toBe(404)
  })
})

describe('deleting a rig', () => {
  test('hides it at once, takes nothing more for it, and is finished by the schedule', async () => {
    const { hangar, who, rig, key } = await hangarWithReadings('One of two', 2 * DELETE_ROWS_PER_STEP + 100)
    await addRow('alert', hangar)
    const settings = { band: { start: 15, stop: 6 } }
    await world.call(who, `POST /v1/hangars/${hangar}/rigs`, { name: 'Other', slug: 'other', settings })
    const sent = await world.call({ bearer: key }, 'POST /v1/readings', { humidity: 9, temperature: 18 })
    expect(sent.body.stored).toBe(1)
    const first = await world.call(who, `DELETE /v1/rigs/${rig}`, { name: 'Rig' })
    expect([first.status, first.body.isDone]).toEqual([202, false])

    for (const path of ['', '/now', '/trace', '/logbook', '/alerts', '/export.csv'])
      expect([path, (await world.call(who, `GET /v1/rigs/${rig}${path}`)).status]).toEqual([path, 404])
    const patch = await world.call(who, `PATCH /v1/rigs/${rig}`, { name: 'Back' })
    expect(patch.status).toBe(404)
    const listed = await world.call(who, `GET /v1/hangars/${hangar}/rigs`)
    expect(listed.body.items.map(({ slug }: { slug: string }) => slug)).toEqual(['other'])
    const alerts = await world.call(who, 'GET /v1/alerts')
    expect(alerts.body.items.filter((alert: { rig: string }) => alert.rig === rig)).toEqual([])
    const late = await world.call({ bearer: key }, 'POST /v1/readings', { humidity: 9, temperature: 18 })
    expect(late.body.stored ?? 0).toBe(0)
    const again = await world.call(who, `POST /v1/hangars/${hangar}/rigs`, {
      name: 'Rig',
      slug: 'rig',
      settings,
    })
    expect(again.status).toBe(201)

    const second = await world.call(who, `DELETE /v1/rigs/${rig}`, { name: 'Rig' })
    expect([second.status, second.body.isDone]).toEqual([202, false])
    await sweepPeople(openHttp(env), world.clock.nowS)
    expect(await env.DB.prepare('SELECT 1 FROM rig WHERE public_id = ?1').bind(rig).first()).toBeNull()
    expect((await world.call(who, `GET /v1/rigs/${again.body.id}`)).status).toBe(200)
  })

  test('that is left half way goes with its hangar', async () => {
    const { hangar, who, rig } = await hangarWithReadings('Both', 2 * DELETE_ROWS_PER_STEP)
    await world.call(who, `DELETE /v1/rigs/${rig}`, { name: 'Rig' })
    for (let isDone = false, steps = 0; !isDone && steps < 5; steps++)
      isDone = (await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Both' })).body.isDone
    expect(await env.DB.prepare('SELECT 1 FROM rig WHERE public_id = ?1').bind(rig).first()).toBeNull()
  })
})

describe('what has expired', () => {
  test('is cleared away, and nothing else', async () => {
    const hangar = await world.hangar('Expiry')
    const old = await world.join(hangar, 'keeper', 'Old')
    await world.call(old.who, 'POST /v1/tokens', { name: 'short', may: 'read', lifeS: 60 })
    await world.call(old.who, `POST /v1/hangars/${hangar}/invites`, { role: 'watcher' })
    await world.call(NOBODY, 'POST /v1/sign-in/options')
    world.clock.nowS += Math.max(SESSION_IDLE_S, EXPIRED_KEPT_S) + 8 * 86_400
    const fresh = await world.join(hangar, 'watcher', 'Fresh')
    await world.call(fresh.who, 'POST /v1/tokens', { name: 'long', may: 'read' })
    const onTheHour = world.clock.nowS - (world.clock.nowS % 3600)
    await sweepPeople(openHttp(env), onTheHour)
    const left = await filled()
    expect(left).toMatchObject({ session: 1, personal_token: 1 })
    expect(left).not.toHaveProperty('challenge')
    expect((await world.call(fresh.who, 'GET /v1/me')).status).toBe(200)
  })
})
