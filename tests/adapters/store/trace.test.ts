/** Reading back: what a trace reads and keeps, the logbook with its pages, alerts and who has seen them. */
import { beforeAll, expect, test } from 'vitest'
import { TRACE_ROWS_MAX } from '../../../src/core/limits.ts'
import { makeStoreWorld, START_S } from './store-world.ts'
import type { StoreWorld } from './store-world.ts'

let world: StoreWorld
let rig = ''
let rigKey = 0
beforeAll(async () => {
  world = await makeStoreWorld()
  rig = world.rigs[0]?.id ?? ''
  rigKey =
    (await world.raw
      .prepare('SELECT rig_id FROM rig WHERE public_id = ?1')
      .bind(rig)
      .first<number>('rig_id')) ?? 0
})

test('a day comes back reading by reading, with its run and its gap', async () => {
  const fromS = START_S - 86_400
  const records = Array.from({ length: 200 }, (_, i) => ({
    at: fromS + i * 300,
    humidity: 8 + (i % 40) / 10,
    pump: i >= 20 && i < 40,
  }))
  await world.post(records.filter((_, i) => i < 80 || i >= 120))
  const trace = await world.shard.traces.trace(rig, { fromS, toS: fromS + 200 * 300, points: 1000 })
  expect(trace?.basis).toBe('readings')
  expect(trace?.series).toHaveLength(1)
  expect(trace?.series[0]?.points).toHaveLength(160)
  expect(trace?.runs).toEqual([{ fromS: fromS + 6000, toS: fromS + 12_000, basis: 'reported' }])
  expect(trace?.gaps).toEqual([{ fromS: fromS + 79 * 300, toS: fromS + 120 * 300 }])
  // A cycle that closed later does not hide it: after a flight a run belongs to no cycle.
  const cycle = { atS: fromS + 58_000, runFromS: fromS + 45_000, runToS: fromS + 48_000, basis: 'inferred' }
  await world.raw
    .prepare('INSERT INTO cycle (rig_id, at_s, body) VALUES (?1, ?2, ?3)')
    .bind(rigKey, cycle.atS, JSON.stringify(cycle))
    .run()
  const later = await world.shard.traces.trace(rig, { fromS, toS: fromS + 200 * 300, points: 1000 })
  expect(later?.runs).toEqual([
    { fromS: fromS + 6000, toS: fromS + 12_000, basis: 'reported' },
    { fromS: fromS + 45_000, toS: fromS + 48_000, basis: 'inferred' },
  ])
  await world.raw.prepare('DELETE FROM cycle WHERE rig_id = ?1').bind(rigKey).run()
})

test('the latest readings of every place are in a long trace, however many places post each minute', async () => {
  const toS = START_S
  const places = ['return', 'supply', 'ambient', 'engine'] as const
  for (const place of places)
    await world.post(Array.from({ length: 120 }, (_, i) => ({ at: toS - 60 * (i + 1), humidity: 9, place })))
  const trace = await world.shard.traces.trace(rig, { fromS: toS - 90 * 86_400, toS, points: 5000 })
  expect(trace?.series.map(({ place, points }) => [place, points.at(-1)?.atS])).toEqual(
    places.map((place) => [place, toS - 60]),
  )
  await world.raw
    .prepare('DELETE FROM reading WHERE rig_id = ?1 AND at_s >= ?2')
    .bind(rigKey, toS - 7200)
    .run()
})

/** Two years more behind the one that is asked for: readings every five minutes, hours and days. */
async function addOlderYears(hour0: number): Promise<void> {
  const spanS = 2 * 365 * 86_400
  const n = (stepS: number) =>
    `WITH RECURSIVE n (at_s) AS (SELECT ${hour0 - spanS} UNION ALL SELECT at_s + ${stepS} FROM n WHERE at_s + ${stepS} < ${hour0})`
  const statements = [
    `INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct) ${n(300)} SELECT ${rigKey}, 0, at_s, 900 FROM n`,
    ...[3600, 86_400].map(
      (stepS) => `INSERT INTO rollup (rig_id, place, span_s, from_s, humidity_mean_centi_pct, heard_s)
        ${n(stepS)} SELECT ${rigKey}, 0, ${stepS}, at_s, 900, ${stepS} FROM n`,
    ),
    `INSERT INTO cycle (rig_id, at_s, body) ${n(15_000)} SELECT ${rigKey}, at_s, json_object('atS', at_s) FROM n`,
  ]
  for (const statement of statements) await world.raw.prepare(statement).run()
}

test('a year at 1,000 points reads at most 10,000 rows, for one place and for four, and keeps the extremes', async () => {
  const hour0 = START_S - (START_S % 3600) - 365 * 86_400
  for (const spanS of [3600, 86_400])
    for (const place of [0, 1, 2, 3])
      await world.raw
        .prepare(
          `INSERT INTO rollup (rig_id, place, span_s, from_s, humidity_mean_centi_pct, humidity_min_centi_pct,
             humidity_max_centi_pct, heard_s)
           WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE (i + 1) * ?3 < 365 * 86400)
           SELECT ?1, ?4, ?3, ?2 + i * ?3, 900, CASE WHEN i * ?3 = 86400 * 100 THEN 110 ELSE 800 END,
             CASE WHEN i * ?3 = 86400 * 200 THEN 9900 ELSE 1200 END, 3600 FROM n`,
        )
        .bind(rigKey, hour0, spanS, place)
        .run()
  await world.raw
    .prepare(
      `INSERT INTO cycle (rig_id, at_s, body)
       WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < 2000)
       SELECT ?1, ?2 + i * 15000, json_object('atS', ?2 + i * 15000, 'runFromS', ?2 + i * 15000 - 9000, 'runToS', ?2 + i * 15000 - 8000, 'basis', 'reported') FROM n`,
    )
    .bind(rigKey, hour0)
    .run()
  for (const places of [4, 2, 1]) {
    await world.raw.prepare('DELETE FROM rollup WHERE place >= ?1').bind(places).run()
    world.take()
    const trace = await world.shard.traces.trace(rig, {
      fromS: hour0,
      toS: hour0 + 365 * 86_400,
      points: 1000,
    })
    const cost = world.take()
    expect(cost.read).toBeLessThanOrEqual(10_000)
    expect(cost.read).toBeLessThanOrEqual(TRACE_ROWS_MAX + 100)
    const points = trace?.series[0]?.points ?? []
    expect(trace?.series).toHaveLength(places)
    expect(points.length).toBeLessThanOrEqual(1000)
    expect(points.length).toBeGreaterThan(300)
    expect(Math.max(...points.map((point) => point.maxPct ?? 0))).toBe(99)
    expect(Math.min(...points.map((point) => point.minPct ?? 99))).toBe(1.1)
    expect(trace?.runs.length).toBeGreaterThan(100)
  }
  // The same year asked for when three are there.
  const year = { fromS: hour0, toS: hour0 + 365 * 86_400, points: 1000 }
  world.take()
  const alone = await world.shard.traces.trace(rig, year)
  const cost = world.take().read
  await addOlderYears(hour0)
  world.take()
  expect(await world.shard.traces.trace(rig, year)).toEqual(alone)
  expect(world.take().read).toBeLessThanOrEqual(cost + 10)
  const all = await world.shard.traces.trace(rig, { ...year, fromS: hour0 - 2 * 365 * 86_400 })
  expect(all?.series[0]?.points.length).toBeLessThanOrEqual(1000)
  expect(world.take().read).toBeLessThanOrEqual(10_000)
})

test('no such rig is null', async () => {
  expect(
    await world.shard.traces.trace('aanobodyaaaaaaaaaaaaaaaaaa', { fromS: 0, toS: 1, points: 1 }),
  ).toBeNull()
})

test('the logbook pages backwards, and every change marks the time to go back to', async () => {
  const mark = (): Promise<number | null> =>
    world.raw
      .prepare('SELECT rewind_from_s FROM memory WHERE rig_id = ?1')
      .bind(rigKey)
      .first<number>('rewind_from_s')
  const add = (atS: number, what: string) =>
    world.shard.logbook.add(rig, { atS, what, detail: { hours: '1.2' }, by: null, nowS: START_S })
  await world.raw.prepare('UPDATE memory SET rewind_from_s = NULL, grid_s = ?1').bind(START_S).run()
  const entries = []
  for (let i = 0; i < 5; i++) entries.push(await add(START_S - 1000 + (i % 2), 'flight'))
  expect(await mark()).toBe(START_S - 1000)
  const first = await world.shard.logbook.ofRig(rig, { after: null, limit: 3 })
  const second = await world.shard.logbook.ofRig(rig, { after: first.next, limit: 3 })
  expect([first.items.length, second.items.length, second.next]).toEqual([3, 2, null])
  expect(new Set([...first.items, ...second.items].map((entry) => entry.id)).size).toBe(5)
  await world.shard.logbook.change(rig, entries[0]?.id ?? '', { atS: START_S - 5000 })
  expect(await mark()).toBe(START_S - 5000)
  await world.raw.prepare('UPDATE memory SET rewind_from_s = NULL').run()
  expect(await world.shard.logbook.remove(rig, entries[1]?.id ?? '')).toBe(true)
  expect(await mark()).toBe(START_S - 999)
  expect(await world.shard.logbook.remove(rig, entries[1]?.id ?? '')).toBe(false)
})

test('a note and a kind that nobody knows send nothing back, until one becomes what the analysis takes in', async () => {
  const mark = () => world.raw.prepare('SELECT max(rewind_from_s) AS m FROM memory').first<number>('m')
  await world.raw.prepare('UPDATE memory SET rewind_from_s = NULL').run()
  const add = (what: string) =>
    world.shard.logbook.add(rig, { atS: START_S - 900, what, detail: {}, by: null, nowS: START_S })
  const note = await add('note')
  const other = await add('wash')
  await world.shard.logbook.change(rig, note?.id ?? '', { atS: START_S - 7000, what: 'note', detail: {} })
  await world.shard.logbook.remove(rig, other?.id ?? '')
  expect(await mark()).toBeNull()
  await world.shard.logbook.change(rig, note?.id ?? '', { atS: START_S - 600, what: 'flight', detail: {} })
  expect(await mark()).toBe(START_S - 600)
})

test('logging the rig off ends the pump advice at once', async () => {
  await world.post({ at: START_S - 5, humidity: 30 })
  expect((await world.post({ at: START_S - 4, humidity: 30 })).body.pump).toBe('run')
  await world.shard.logbook.add(rig, { atS: START_S - 3, what: 'off', detail: {}, by: null, nowS: START_S })
  expect((await world.post({ at: START_S - 2, humidity: 30 })).body.pump).toBeNull()
  await world.shard.logbook.add(rig, { atS: START_S - 1, what: 'on', detail: {}, by: null, nowS: START_S })
  expect((await world.post({ at: START_S, humidity: 30 })).body.pump).toBe('run')
})

test('seen is for the whole hangar, and only of what is open', async () => {
  await world.raw
    .prepare(
      `INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence, over_at_s)
       VALUES ('one', ?1, 'no-drop', 10, 5, 'visit', '{}', NULL), ('two', ?1, 'silent', 20, 15, 'now', '{}', NULL),
         ('three', ?1, 'leak', 30, 25, 'visit', '{}', 40)`,
    )
    .bind(rigKey)
    .run()
  expect((await world.shard.alerts.open([world.hangar])).map((alert) => alert.id)).toEqual(['two', 'one'])
  expect(await world.shard.alerts.open(['another'])).toEqual([])
  expect(await world.shard.alerts.markSeen('one', 'somebody', 50)).toBe(true)
  expect(await world.shard.alerts.markSeen('nothing', 'somebody', 50)).toBe(false)
  expect(await world.shard.alerts.byId('one')).toMatchObject({
    state: 'seen',
    seenBy: 'somebody',
    seenAtS: 50,
  })
  await world.shard.alerts.markSeen('three', 'somebody', 50)
  expect(await world.shard.alerts.byId('three')).toMatchObject({ state: 'over', seenBy: null })
  const page = await world.shard.alerts.ofRig(rig, { after: null, limit: 2 })
  expect(page.items.map((alert) => alert.id)).toEqual(['three', 'two'])
  expect(
    (await world.shard.alerts.ofRig(rig, { after: page.next, limit: 2 })).items.map((a) => a.id),
  ).toEqual(['one'])
})
