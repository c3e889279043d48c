/** Readings go after their time; what was told from them stays, whatever sends the analysis back. */
import { env } from 'cloudflare:workers'
import { expect, test } from 'vitest'
import * as z from 'zod'
import { BUDGETS, RAW_KEPT_DAYS } from '../../../src/core/limits.ts'
import { toldFromS } from '../../../src/core/schedule/kept-history.ts'
import { feed, makeCheckWorld, said } from './check-world.ts'
import type { CheckWorld } from './check-world.ts'
import { sawTooth } from './saw-tooth.ts'
import { START_S } from './store-world.ts'

const DAY_S = 86_400
const NOW_S = START_S - (START_S % DAY_S) + DAY_S / 2
const CUT_S = NOW_S - RAW_KEPT_DAYS * DAY_S
const KEPT_S = toldFromS(CUT_S)
const FIRST_S = NOW_S - 470 * DAY_S
const MOST = { rowsMax: 1_000_000, rigsMax: 1_000 }

/** 470 days, bakes so many days ago, and only the last 400 days of readings left. */
async function oldRig(bakes: readonly number[]): Promise<CheckWorld> {
  const world = await makeCheckWorld()
  world.clock.nowS = NOW_S
  for (const days of bakes) await log(world, { atS: NOW_S - days * DAY_S, what: 'bake' })
  await feed(world, sawTooth({ fromS: FIRST_S, toS: NOW_S, everyS: 900 }))
  while ((await world.tick(NOW_S)) > 0);
  await world.shard.retention.clean(NOW_S, MOST)
  expect(await firstLeft(world)).toBeGreaterThanOrEqual(CUT_S)
  return world
}

const firstLeft = (world: CheckWorld) =>
  world.raw
    .prepare(
      'SELECT min(at_s) AS s FROM reading WHERE rig_id = (SELECT rig_id FROM rig WHERE public_id = ?1)',
    )
    .bind(world.rigs[0]?.id ?? '')
    .first<number>('s')

const log = (world: CheckWorld, { atS, what }: { atS: number; what: string }) =>
  world.shard.logbook.add(world.rigs[0]?.id ?? '', { atS, what, detail: {}, by: null, nowS: NOW_S })

type Row = { at_s?: number; from_s?: number; body: string }

const isOld = ({ at_s, from_s }: Row) => (at_s ?? from_s ?? 0) < KEPT_S

async function history(world: CheckWorld) {
  const { cycles, fills, exposure, rollups } = await said(world)
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- rows of the test's own queries
  const tables = [cycles, exposure, rollups] as Row[][]
  const days = tables[1]?.map(({ body }) => z.object({ gapsH: z.number() }).parse(JSON.parse(body)).gapsH)
  const alerts = await world.shard.alerts.ofRig(world.rigs[0]?.id ?? '', { after: null, limit: 200 })
  return {
    old: tables.map((rows) => rows.filter(isOld)),
    fills,
    days: exposure.length,
    gapsH: days?.reduce((sum, h) => sum + h, 0) ?? 0,
    cycles: cycles.length,
    alerts: alerts.items.map(({ rule, raisedAtS }) => ({ rule, raisedAtS })),
  }
}

const version = (world: CheckWorld) =>
  world.raw
    .prepare(
      `UPDATE memory SET body = json_set(body, '$.version', 1)
       WHERE rig_id = (SELECT rig_id FROM rig WHERE public_id = ?1)`,
    )
    .bind(world.rigs[0]?.id ?? '')
    .run()
const entry = (days: number) => (world: CheckWorld) =>
  log(world, { atS: NOW_S - days * DAY_S, what: 'preheat' })

test.each([
  ['a late entry', [450, 430], entry(60)],
  ['an entry older than the readings', [450], entry(469)],
  ['a new form of the memory', [450, 430], version],
  ['a new form of the memory of a rig that was never baked', [], version],
  ['a new form of the memory of a rig first baked since', [50], version],
])(
  '%s tells only anew what all its readings are left of',
  async (_, bakes, change) => {
    const world = await oldRig(bakes)
    const before = await history(world)
    // Beside those that were baked the one that was in the column at first.
    expect(before.fills).toHaveLength(bakes.length + 1)
    await change(world)
    while ((await world.tick(NOW_S + 300, { budgets: { ...BUDGETS.free, stepsMax: 200 } })) > 0);
    const after = await history(world)
    expect(after.old).toEqual(before.old)
    expect(after.fills).toMatchObject(before.fills.map(({ from_s, to_s }) => ({ from_s, to_s })))
    const ended = bakes.filter((days) => days > RAW_KEPT_DAYS).length
    expect(after.fills.slice(0, ended)).toEqual(before.fills.slice(0, ended))
    expect(after.days).toBe(before.days)
    expect(after.gapsH).toBeCloseTo(before.gapsH, 6)
    expect(after.alerts).toEqual(before.alerts)
    expect(Math.abs(after.cycles - before.cycles)).toBeLessThanOrEqual(1)
  },
  60_000,
)

test('readings that the analysis has not passed are left to it', async () => {
  const world = await makeCheckWorld()
  world.clock.nowS = NOW_S
  await feed(world, sawTooth({ fromS: FIRST_S, toS: FIRST_S + 20 * DAY_S, everyS: 900 }))
  await world.shard.retention.clean(NOW_S, MOST)
  expect(await firstLeft(world)).toBe(FIRST_S)
  await world.tick(NOW_S, { budgets: BUDGETS.free })
  await world.shard.retention.clean(NOW_S, MOST)
  while ((await world.tick(NOW_S)) > 0);
  const told = await said(world)
  expect(told.exposure.length).toBeGreaterThan(400)
  await world.shard.retention.clean(NOW_S, MOST)
  expect(await firstLeft(world)).toBeNull()
  // With nothing left to go back to, a late entry is taken note of and the rig goes on.
  await log(world, { atS: NOW_S - 440 * DAY_S, what: 'preheat' })
  while ((await world.tick(NOW_S + 900)) > 0);
  const after = await said(world)
  expect(after.memory).toMatchObject([{ grid_s: NOW_S + 300 }])
  expect(after.exposure.slice(0, told.exposure.length)).toEqual(told.exposure)
  expect(after.cycles).toEqual(told.cycles)
})

const readingsFromS = ({ raw, rigs }: CheckWorld) =>
  raw
    .prepare('SELECT m.readings_from_s s FROM memory m JOIN rig r USING (rig_id) WHERE r.public_id = ?1')
    .bind(rigs[0]?.id ?? '')
    .first<number>('s')

test('a database whose readings went before is told where they begin by its migration', async () => {
  const world = await oldRig([])
  const young = await makeCheckWorld()
  await feed(young, sawTooth({ fromS: NOW_S - 5 * DAY_S, toS: NOW_S, everyS: 900 }))
  while ((await young.tick(NOW_S)) > 0);
  await world.raw.prepare('UPDATE memory SET readings_from_s = 0').run()
  const { queries } = env.TEST_MIGRATIONS.find(({ name }) => name.startsWith('0004')) ?? { queries: [] }
  for (const sql of queries.filter((text) => text.includes('UPDATE memory')))
    await world.raw.prepare(sql).run()
  expect(await readingsFromS(world)).toBe(await firstLeft(world))
  expect(await readingsFromS(young)).toBe(0)
})
