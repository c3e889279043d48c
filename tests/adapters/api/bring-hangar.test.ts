/** Export, wipe, bring in: the same traces, cycles, fills, alerts and logbook. */
import { applyD1Migrations } from 'cloudflare:test'
import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
import { bringHangar, type Call } from '../../../clients/hub/bring-hangar.ts'
import { toldFromS } from '../../../src/core/schedule/kept-history.ts'
import { openHttp, openSchedule } from '../../../src/wire.ts'
import { runSchedule } from '../../../src/wire-schedule.ts'
import { HOST, HOST_TOKEN, makeWorld, type World } from '../people/world.ts'

const both = { ...env, DB_1: env.TEST_DB_1 }
const DAY_S = 86_400
let world: World
let startS: number

beforeAll(async () => {
  await applyD1Migrations(env.TEST_DB_1, env.TEST_MIGRATIONS)
  const { people, shards, ingest, health } = openHttp(both)
  world = await makeWorld({ people, shards, ingest, health })
  startS = world.clock.nowS - (world.clock.nowS % DAY_S) - 9 * DAY_S
})

const iso = (atS: number) => new Date(atS * 1000).toISOString()

const call: Call = async ({ method, path, bearer, contentType, body }) => {
  const sent = body === '' ? ([] as const) : ([body, { 'content-type': contentType }] as const)
  const answer = await world.call({ bearer }, `${method} ${path}`, ...sent)
  return { status: answer.status, text: answer.text, retryAfterS: null }
}

/** Nine days of a saw-tooth, a flight with a wet plateau after it, a change of the band, a bake, and then silence. */
async function livedIn(): Promise<string> {
  const hangar = (await world.call(HOST, 'POST /v1/hangars', { name: 'Sparrow Meadow', shard: 0 })).body.id
  const settings = { band: { start: 15, stop: 6 }, beadMassG: 2000, volumeL: 45, flowLPerMin: 2.5 }
  const body = { name: 'One, "quoted"', slug: 'one', settings }
  const rig = (await world.call(HOST, `POST /v1/hangars/${hangar}/rigs`, body)).body.id
  const recipe = { humidity: { from: '/h', unit: '%' } }
  await world.call(HOST, `POST /v1/hangars/${hangar}/sources`, { name: 'With recipe', rigs: ['one'], recipe })
  const source = await world.call(HOST, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: ['one'] })
  const key = (await world.call(HOST, `POST /v1/sources/${source.body.id}/keys`)).body.key
  const change = { from: iso(startS + 4 * DAY_S), settings: { ...settings, band: { start: 16, stop: 6 } } }
  await world.call(HOST, `PATCH /v1/rigs/${rig}`, change)
  for (const entry of [
    { at: iso(startS + DAY_S), what: 'bake', detail: { tempC: 120, hours: 4, jar: 'blue' } },
    { at: iso(startS + 3 * DAY_S), what: 'flight', detail: { hours: 1.2 } },
    { at: iso(startS + 3 * DAY_S + 3600), what: 'on' },
    { at: iso(startS + 5 * DAY_S), what: 'note', detail: { text: 'Streamer; renewed = "red"' } },
    ...['one', 'two', 'three', 'four'].map((text) => ({
      at: iso(startS + 6 * DAY_S),
      what: 'note',
      detail: { text },
    })),
  ])
    expect((await world.call(HOST, `POST /v1/rigs/${rig}/logbook`, entry)).status).toBe(201)
  const readings = Array.from({ length: (9 * DAY_S) / 600 }, (_, index) => readingAt(index))
  for (let from = 0; from < readings.length; from += 500)
    await world.call({ bearer: key }, 'POST /v1/readings', readings.slice(from, from + 500))
  return hangar
}

function readingAt(index: number): object {
  const minutes = (index * 10) % 520
  const isRun = minutes >= 480
  const sinceFlightH = index / 6 - 73
  const saw = isRun ? [17, 11, 8, 6.2][(minutes - 480) / 10] : 6 + (9 * minutes) / 480
  const isWet = sinceFlightH > 0 && sinceFlightH < 5
  return {
    at: iso(startS + index * 600),
    humidity: isWet ? 97 : Math.round((saw ?? 6) * 100) / 100,
    ...(index % 3 === 0 ? {} : { temperature: 15.25 }),
    pump: isRun || isWet,
  }
}

async function check(): Promise<void> {
  world.clock.nowS = startS + 9 * DAY_S + 6 * 3600
  const work = openSchedule(both)
  for (let step = 0; step < 15; step++) await runSchedule(work, world.clock.nowS)
}

async function exported(hangar: string): Promise<string[]> {
  return (await world.call(HOST, `GET /v1/hangars/${hangar}/export`)).text.trimEnd().split('\n')
}

/** Without what belongs to the place and the moment of the export. */
function essence(lines: readonly string[]): unknown[] {
  return lines.map((text) =>
    Object.assign(JSON.parse(text), { exportedAt: null, madeAt: null, seenAtS: null }),
  )
}

type Row = Record<string, unknown>

function ofKind(lines: readonly string[], kind: string): Row[] {
  return essence(lines).filter((row): row is Row =>
    Object.entries(row ?? {}).some(([name, value]) => name === 'kind' && value === kind),
  )
}

function timeIn(row: Row): number {
  return Number(row['atS'] ?? row['raisedAtS'] ?? row['fromS'])
}

describe('a hangar', () => {
  test('brought in on another database from its export gives the same answers', async () => {
    const hangar = await livedIn()
    await check()
    const before = await exported(hangar)
    const kinds = before.map((text) => String(JSON.parse(text).kind))
    for (const kind of [
      'hangar',
      'rig',
      'log',
      'source',
      'fill',
      'cycle',
      'exposure',
      'rollup',
      'alert',
      'readings',
      'end',
    ])
      expect(kinds).toContain(kind)

    await world.call(HOST, `DELETE /v1/hangars/${hangar}`, { name: 'Sparrow Meadow' })
    expect((await world.call(HOST, `GET /v1/hangars/${hangar}`)).status).toBe(404)

    const brought = await bringHangar(before, { call, hostToken: HOST_TOKEN, shard: 1 })
    expect(brought).toMatchObject({ rigs: 1, entries: 8, readings: (9 * DAY_S) / 600 })
    expect(brought.sources).toEqual(['Hub', 'With recipe'])
    await check()
    expect(essence(await exported(brought.hangar))).toEqual(essence(before))
  })

  test('whose oldest readings are gone keeps what was told of them', async () => {
    const hangar = await livedIn()
    await check()
    // As retention does: readings before this are no more.
    const cutS = startS + 4 * DAY_S + 3600
    const ofRig = 'rig_id = (SELECT rig_id FROM rig WHERE hangar = ?1)'
    await env.DB.prepare(`DELETE FROM reading WHERE ${ofRig} AND at_s < ?2`).bind(hangar, cutS).run()
    await env.DB.prepare(`UPDATE memory SET readings_from_s = ?2 WHERE ${ofRig}`).bind(hangar, cutS).run()
    await env.DB.prepare(
      `INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence, over_at_s)
       SELECT 'old', rig_id, 'silent', ?2, ?2 - 7200, 'visit', '{"limitH":2}', ?2 + 900 FROM rig WHERE hangar = ?1`,
    )
      .bind(hangar, startS + 7200)
      .run()
    const before = await exported(hangar)
    await world.call(HOST, `DELETE /v1/hangars/${hangar}`, { name: 'Sparrow Meadow' })
    const brought = await bringHangar(before, { call, hostToken: HOST_TOKEN, shard: 1 })
    await check()
    const after = await exported(brought.hangar)

    const keptS = toldFromS(cutS)
    for (const kind of ['cycle', 'fill', 'exposure', 'rollup', 'alert']) {
      const old = ofKind(before, kind).filter((row) => timeIn(row) < keptS)
      expect([kind, old.length]).not.toEqual([kind, 0])
      const there = ofKind(after, kind).filter((row) => timeIn(row) < keptS)
      if (kind === 'fill')
        expect(there.map(({ fromS, toS }) => [fromS, toS])).toEqual(old.map(({ fromS, toS }) => [fromS, toS]))
      else expect(there).toEqual(old)
    }
    const days = (lines: readonly string[]) => ofKind(lines, 'exposure').map(timeIn)
    expect(days(after)).toEqual(days(before))
    expect(ofKind(after, 'rig')).toMatchObject([{ readingsFrom: iso(cutS).replace('.000', '') }])

    // A rig that has been checked takes no other past.
    const [rig] = (await world.call(HOST, `GET /v1/hangars/${brought.hangar}/rigs`)).body.items
    const past = {
      readingsFrom: iso(cutS),
      checkedTo: iso(cutS),
      exposureDays: ofKind(before, 'exposure').slice(0, 1),
    }
    expect((await world.call(HOST, `POST /v1/rigs/${rig.id}/history`, past)).status).toBe(409)
  })

  test('comes in though a source of it has lost its only rig', async () => {
    const hangar = (await world.call(HOST, 'POST /v1/hangars', { name: 'Two Doors' })).body.id
    const settings = { band: { start: 15, stop: 6 } }
    for (const slug of ['one', 'two']) {
      await world.call(HOST, `POST /v1/hangars/${hangar}/rigs`, { name: slug, slug, settings })
      await world.call(HOST, `POST /v1/hangars/${hangar}/sources`, { name: `Hub ${slug}`, rigs: [slug] })
    }
    const rigs = (await world.call(HOST, `GET /v1/hangars/${hangar}/rigs`)).body.items
    const two = rigs.find((rig: { slug: string }) => rig.slug === 'two').id
    expect((await world.call(HOST, `DELETE /v1/rigs/${two}`, { name: 'two' })).status).toBe(200)
    const brought = await bringHangar(await exported(hangar), { call, hostToken: HOST_TOKEN })
    expect(brought).toMatchObject({ rigs: 1, sources: ['Hub one'], leftOut: ['Hub two'] })
  })

  test('of more rigs than a source serves comes in whole', async () => {
    const slugs = Array.from({ length: 120 }, (_, index) => `r${index}`)
    const settings = { band: { start: 15, stop: 6 } }
    const lines = [
      { kind: 'hangar', name: 'Long Row' },
      ...slugs.map((slug) => ({ kind: 'rig', name: slug, slug, history: [{ from: iso(0), settings }] })),
      ...slugs.map((rig) => ({
        kind: 'readings',
        rig,
        csv: `at,humidity,temperature,pump,power,place,rig\r\n${iso(startS)},9.5,,,,return,${rig}\r\n`,
      })),
      { kind: 'end', rigs: slugs.length },
    ].map((one) => JSON.stringify(one))
    const brought = await bringHangar(lines, { call, hostToken: HOST_TOKEN })
    expect(brought).toMatchObject({ rigs: 120, readings: 120, sources: [] })
    const left = await world.call(HOST, `GET /v1/hangars/${brought.hangar}/sources`)
    expect(left.body.items).toEqual([])
  })

  test('that was cut off on its way is not taken for whole; a broken line is named; nothing is left of them', async () => {
    const lines = [
      '{"kind":"hangar","name":"Cut"}',
      '{"kind":"rig","name":"x","slug":"x","history":[{"from":"1970-01-01T00:00:00Z","settings":{"band":{"start":15,"stop":6}}}]}',
    ]
    await expect(bringHangar(lines, { call, hostToken: HOST_TOKEN })).rejects.toThrow('cut off')
    const bad = [...lines, '{"kind":"log","rig":"x","at":"yesterday","what":"note","detail":{}}']
    await expect(bringHangar(bad, { call, hostToken: HOST_TOKEN })).rejects.toThrow(/^line 3: POST .* 422 /)
    const { items } = (await world.call(HOST, 'GET /v1/hangars?limit=200')).body
    expect(items.map((one: { name: string }) => one.name)).not.toContain('Cut')
    await expect(bringHangar(['{"kind":"log"}'], { call, hostToken: HOST_TOKEN })).rejects.toThrow(
      /^line 1: /,
    )
  })
})
