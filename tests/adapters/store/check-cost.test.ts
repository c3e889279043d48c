/** What a tick costs in rows, with a day and with three years of history: the same. */
import { expect, test } from 'vitest'
import { feed, makeCheckWorld } from './check-world.ts'
import type { CheckWorld } from './check-world.ts'
import { sawTooth } from './saw-tooth.ts'
import { START_S } from './store-world.ts'

const HOUR_S = 3600
const DAY_S = 86_400
const NOON_S = START_S - (START_S % DAY_S) + DAY_S / 2
const SLUGS = Array.from({ length: 3 }, (_, index) => `rig-${index}`)

/** Behind what the analysis has taken in, without telling it: it must not matter that it is there. */
async function addHistory(world: CheckWorld, days: number): Promise<void> {
  await world.raw
    .prepare(
      `WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?2)
       INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct)
       SELECT rig_id, 0, ?1 - 300 * n.i, 900 FROM rig, n WHERE hangar = ?3`,
    )
    .bind(NOON_S - DAY_S - HOUR_S, days * 288, world.hangar)
    .run()
}

async function hear(world: CheckWorld, span: { fromS: number; toS: number }): Promise<void> {
  world.clock.nowS = span.toS
  await feed(
    world,
    SLUGS.flatMap((rig) => sawTooth(span).map((record) => Object.assign(record, { rig }))),
  )
}

type Tick = { readonly read: number; readonly written: number; readonly trips: number }

/** An hour of ticks with one new reading a rig each; counts are of one rig. */
async function anHour(world: CheckWorld, fromS: number): Promise<Tick[]> {
  const ticks: Tick[] = []
  for (let tick = 1; tick <= 12; tick++) {
    const toS = fromS + tick * 300
    await hear(world, { fromS: toS - 300, toS })
    world.take()
    await world.tick(toS)
    const { read, written, trips } = world.take()
    ticks.push({ read: read / SLUGS.length, written: written / SLUGS.length, trips })
  }
  return ticks
}

const median = (values: readonly number[]) =>
  values.toSorted((a, b) => a - b)[Math.floor(values.length / 2)] ?? 0

test('a tick reads what is new and at most twenty rows beside, whatever the history, and idles cheaply', async () => {
  const world = await makeCheckWorld({ slugs: SLUGS })
  await hear(world, { fromS: NOON_S - DAY_S, toS: NOON_S })
  while ((await world.tick(NOON_S)) > 0);
  const young = await anHour(world, NOON_S)
  await addHistory(world, 3 * 365)
  const old = await anHour(world, NOON_S + HOUR_S)

  for (const ticks of [young, old]) {
    const read = ticks.map((tick) => tick.read)
    const written = ticks.reduce((sum, tick) => sum + tick.written, 0) / ticks.length
    console.log(
      `check: rows read ${median(read).toFixed(1)}, most ${Math.max(...read).toFixed(1)}, written ${written.toFixed(2)} a rig and tick`,
    )
    // The tick in which an hour closes also looks for the rollup it may have to replace.
    expect(Math.max(...read)).toBeLessThanOrEqual(1 + 20)
    // All others: due, memory, seven lists, the guarded update.
    expect(median(read)).toBeLessThanOrEqual(1 + 15)
    // The memory, and once an hour its rollup.
    expect(written).toBeLessThanOrEqual(1.6)
    expect(ticks[0]?.trips).toBe(5)
  }
  // As many rows as the hub has places to look at, and no more for all that lies behind.
  expect(median(old.map(({ read }) => read))).toBeLessThanOrEqual(median(young.map(({ read }) => read)) + 1)

  const idle: number[] = []
  for (let tick = 25; tick <= 33; tick++) {
    world.take()
    await world.tick(NOON_S + tick * 300)
    idle.push(world.take().written / SLUGS.length)
  }
  // What was still settling comes in first; then only the clock moves, and every third tick writes.
  expect(idle.slice(3).filter((written) => written >= 1)).toHaveLength(2)
})
