/**
 * The database failing at each statement of a tick in turn. What is there afterwards is what the whole round trips before
 * it left, and the next tick ends where one that was never disturbed ends.
 */
import { env } from 'cloudflare:workers'
import { expect, test } from 'vitest'
import { checkStore } from '../../../src/adapters/d1/check-store.ts'
import { breakingDb, type BreakingDb } from './breaking-db.ts'
import { feed, makeCheckWorld, type CheckWorld } from './check-world.ts'
import { sawTooth } from './saw-tooth.ts'
import { START_S } from './store-world.ts'

const HOUR_S = 3600
const DAY_S = 86_400
const NOON_S = START_S - (START_S % DAY_S) + DAY_S / 2

/** All that a tick may write; parents before what refers to them. */
const TABLES = [
  'memory',
  'checkpoint',
  'cycle',
  'fill',
  'exposure_day',
  'rollup',
  'alert',
  'alert_event',
  'schedule',
]
/** Random by intent: another try has others. */
const RANDOM = new Set(['token', 'public_id', 'alert_id'])

type Row = Record<string, string | number | null>
type Dump = Record<string, readonly Row[]>

async function dump(): Promise<Dump> {
  const found = await env.DB.batch<Row>(TABLES.map((table) => env.DB.prepare(`SELECT * FROM ${table}`)))
  return Object.fromEntries(TABLES.map((table, index) => [table, found[index]?.results ?? []]))
}

async function putBack(saved: Dump): Promise<void> {
  const statements = TABLES.toReversed().map((table) => env.DB.prepare(`DELETE FROM ${table}`))
  for (const table of TABLES) {
    const columns = Object.keys(saved[table]?.[0] ?? {})
    if (columns.length === 0) continue
    const picked = columns.map((_, index) => `value ->> ${index}`).join(', ')
    const rows = (saved[table] ?? []).map((row) => columns.map((column) => row[column]))
    statements.push(
      env.DB.prepare(`INSERT INTO ${table} (${columns.join(', ')}) SELECT ${picked} FROM json_each(?1)`).bind(
        JSON.stringify(rows),
      ),
    )
  }
  await env.DB.batch(statements)
}

function comparable(saved: Dump): string {
  const rows = TABLES.map((table) => {
    const kept = (saved[table] ?? []).map((row) =>
      JSON.stringify(Object.entries(row).filter(([column]) => !RANDOM.has(column))),
    )
    return [table, kept.toSorted()]
  })
  return JSON.stringify(rows, null, 1)
}

const state = async (): Promise<string> => comparable(await dump())

const random = (bytes: number) => crypto.getRandomValues(new Uint8Array(bytes))

function tickOver(world: CheckWorld, broken: BreakingDb, atS: number): Promise<number> {
  return world.tick(atS, { checks: checkStore(broken.db, 0, random) })
}

async function settle(world: CheckWorld, atS: number): Promise<void> {
  for (let i = 0; i < 20; i++) if ((await world.tick(atS)) === 0) return
  throw new Error('the rigs never caught up')
}

/** Tries the tick at `atS` with each statement failing; leaves the result of one that was not disturbed. */
async function failEach(world: CheckWorld, atS: number): Promise<readonly string[]> {
  const before = await dump()
  const whole: string[] = [comparable(before)]
  const undisturbed = breakingDb(env.DB, -1, async () => void whole.push(await state()))
  await tickOver(world, undisturbed, atS)
  await settle(world, atS)
  const after = await state()
  for (let failing = 0; failing < undisturbed.sent.length; failing++) {
    const where = `statement ${failing}: ${undisturbed.sent[failing]?.trim().slice(0, 60)}`
    await putBack(before)
    const broken = breakingDb(env.DB, failing)
    await expect(tickOver(world, broken, atS), where).rejects.toThrow('CHECK constraint failed')
    expect(await state(), where).toBe(whole[broken.trips()])
    await settle(world, atS)
    expect(await state(), where).toBe(after)
  }
  return undisturbed.sent
}

/** Every statement that a tick has, by what only it says. */
const STATEMENTS = {
  'what is due': 'SELECT rig_id FROM memory WHERE rig_id > ?1',
  'the memories': 'FROM json_each(?1) j CROSS JOIN memory m',
  'a checkpoint to go back to': 'FROM checkpoint WHERE rig_id = ?1 AND grid_s < ?2',
  'the first reading': 'ORDER BY at_s LIMIT 1), ?2)',
  'what is new': 'AS place_3',
  'entries of a long span': 'AS settings FROM json_each(?1) j',
  'much that is new': 'ORDER BY at_s LIMIT ?4)',
  'open alerts': 'FROM alert WHERE rig_id = ?1 AND over_at_s IS NULL',
  'the memory': 'UPDATE memory SET seq = seq + 1',
  'old cycles': 'DELETE FROM cycle',
  'old fills': 'DELETE FROM fill',
  'old checkpoints': 'DELETE FROM checkpoint',
  'new checkpoints': 'INSERT INTO checkpoint',
  'new cycles': 'INSERT INTO cycle',
  'new fills': 'INSERT INTO fill',
  exposure: 'INSERT INTO exposure_day',
  rollups: 'INSERT INTO rollup',
  'alerts that go on': 'UPDATE OR IGNORE alert',
  'alerts that do not': "over_why = 'late-input'",
  alerts: 'INSERT INTO alert (',
  'alerts to be seen again': 'UPDATE alert SET seen_at_s = NULL',
  events: 'INSERT INTO alert_event',
  'a rig set back': 'SET set_back_until_s = ?2',
  'the end of the tick': 'UPDATE schedule SET checked_s',
}

function of(rig: string, span: { fromS: number; toS: number }): object[] {
  return sawTooth(span).map((record) => Object.assign(record, { rig }))
}

test('no statement of a tick that fails leaves anything half done, and the next tick makes it good', async () => {
  const world = await makeCheckWorld({ slugs: ['kestrel', 'plover'] })
  const [kestrel = '', plover = ''] = world.rigs.map(({ id }) => id)
  const heardToS = NOON_S - 4 * HOUR_S
  const sent: string[] = []

  // Never checked: two days and a bake. By noon nothing has been heard for hours.
  world.clock.nowS = NOON_S
  const bake = { what: 'bake', detail: { tempC: '120', hours: '3' }, by: null, nowS: NOON_S }
  await world.shard.logbook.add(kestrel, { ...bake, atS: NOON_S - 30 * HOUR_S })
  for (const rig of ['kestrel', 'plover'])
    await feed(world, of(rig, { fromS: NOON_S - 2 * DAY_S, toS: heardToS }))
  sent.push(...(await failEach(world, NOON_S)))

  // What was thought silent was late; and there was another bake.
  await feed(world, of('kestrel', { fromS: heardToS, toS: heardToS + HOUR_S / 2 }))
  await world.shard.logbook.add(kestrel, { ...bake, atS: NOON_S - 20 * HOUR_S })
  sent.push(...(await failEach(world, NOON_S + HOUR_S / 12)))

  // A tick as most are.
  world.clock.nowS = NOON_S + HOUR_S
  await feed(world, of('kestrel', { fromS: NOON_S + 40 * 60, toS: NOON_S + HOUR_S }))
  await settle(world, NOON_S + HOUR_S)
  world.clock.nowS += 300
  await feed(world, of('kestrel', { fromS: NOON_S + HOUR_S, toS: NOON_S + HOUR_S + 300 }))
  sent.push(...(await failEach(world, NOON_S + HOUR_S + 300)))

  // Silent for more than a day is urgent; and one rig's settings cannot be read.
  await settle(world, NOON_S + DAY_S - 6 * HOUR_S)
  await env.DB.prepare(
    `INSERT INTO rig_settings SELECT rig_id, ${NOON_S + DAY_S - HOUR_S}, '{}' FROM rig WHERE public_id = ?1`,
  )
    .bind(plover)
    .run()
  sent.push(...(await failEach(world, NOON_S + DAY_S + 4 * HOUR_S)))

  for (const [name, words] of Object.entries(STATEMENTS))
    expect(
      sent.some((sql) => sql.includes(words)),
      name,
    ).toBe(true)
  // And no statement is sent that the list does not know.
  for (const sql of sent)
    expect(Object.values(STATEMENTS).filter((words) => sql.includes(words)).length, sql).toBeGreaterThan(0)
})
