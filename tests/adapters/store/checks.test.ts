/** The schedule: each rig's results once, whatever ticks do, and after late input as if it had come in order. */
import { describe, expect, test } from 'vitest'
import { BUDGETS } from '../../../src/core/limits.ts'
import { runQueuedBatch, runTick } from '../../../src/flows/run-checks.ts'
import { events, feed, makeCheckWorld, said } from './check-world.ts'
import type { CheckWorld } from './check-world.ts'
import { sawTooth } from './saw-tooth.ts'
import type { HubRecord } from './saw-tooth.ts'
import { START_S } from './store-world.ts'

const DAY_S = 86_400
const NOON_S = START_S - (START_S % DAY_S) + DAY_S / 2

function forRigs(records: readonly HubRecord[], slugs: readonly string[]): object[] {
  return slugs.flatMap((rig) =>
    records.map(({ at, humidity, temperature, pump }) => ({ at, humidity, temperature, pump, rig })),
  )
}

/** A rig fed and ticked as it should be: everything in order, one tick at the end. */
async function orderly(records: readonly object[], untilS: number): Promise<CheckWorld> {
  const world = await makeCheckWorld()
  world.clock.nowS = untilS
  await feed(world, records)
  while ((await world.tick(untilS)) > 0);
  return world
}

test('a week is analysed up to the settling time, with cycles, rollups and exposure', async () => {
  const fromS = NOON_S - 7 * DAY_S
  const world = await orderly(sawTooth({ fromS, toS: NOON_S }), NOON_S)
  const result = await said(world)
  expect(result.memory).toMatchObject([{ grid_s: NOON_S - 600 }])
  expect(result.cycles.length).toBeGreaterThan(5)
  expect(result.rollups.length).toBeGreaterThan(7 * 24)
  expect(result.exposure.length).toBeGreaterThan(4)
  expect(result.open).toEqual([])
  expect(await world.shard.traces.exposure(world.rigs[0]?.id ?? '', { fromS, toS: NOON_S })).toMatchObject({
    days: expect.arrayContaining([expect.objectContaining({ gapsH: 0 })]),
  })
})

test('tick by tick, in one piece, and on the free plan in small steps: the same', async () => {
  const fromS = NOON_S - 3 * DAY_S
  const records = sawTooth({ fromS, toS: NOON_S })
  const inOne = await orderly(records, NOON_S)
  const inTicks = await makeCheckWorld()
  const free = await makeCheckWorld()
  for (const world of [inTicks, free]) {
    world.clock.nowS = NOON_S
    await feed(world, records)
  }
  const dense = NOON_S - 3 * 3600
  for (let atS = fromS + 1200; atS <= NOON_S; atS += atS < dense ? 3900 : 300) await inTicks.tick(atS)
  while ((await free.tick(NOON_S, { budgets: BUDGETS.free })) > 0);
  const expected = await said(inOne)
  expect(expected.cycles.length).toBeGreaterThan(1)
  expect(await said(inTicks)).toEqual(expected)
  expect(await said(free)).toEqual(expected)
})

test('a dead pump becomes one alert with one event; two ticks at once and the same tick again change nothing', async () => {
  const records = sawTooth({ fromS: NOON_S - 10 * DAY_S, toS: NOON_S, deadFromS: NOON_S - 2 * DAY_S })
  const world = await makeCheckWorld()
  world.clock.nowS = NOON_S
  await feed(world, records)
  const twice = () => Promise.all([world.tick(NOON_S), world.tick(NOON_S)])
  while (Math.max(...(await twice())) > 0);
  const first = await said(world)
  expect(first.open.map((alert) => alert.rule)).toContain('no-drop')
  const told = await events(world)
  expect(told.filter((event) => event.rule === 'no-drop')).toHaveLength(1)
  await world.tick(NOON_S)
  await twice()
  expect(await said(world)).toEqual(first)
  expect(await events(world)).toEqual(told)
  expect(await said(await orderly(records, NOON_S))).toEqual(first)
})

function die(): Promise<never> {
  return Promise.reject(new Error('gone'))
}

test.each(['memories', 'inputs', 'writeSteps', 'finishTick', 'after the write'])(
  'a tick that dies at %s is made good by the next',
  async (where) => {
    const records = sawTooth({ fromS: NOON_S - DAY_S, toS: NOON_S })
    const world = await makeCheckWorld()
    world.clock.nowS = NOON_S
    await feed(world, records)
    const { checks } = world.shard
    const broken =
      where === 'after the write'
        ? {
            writeSteps: async (...a: Parameters<typeof checks.writeSteps>) =>
              checks.writeSteps(...a).then(die),
          }
        : { [where]: die }
    await expect(world.tick(NOON_S, { checks: broken })).rejects.toThrow('gone')
    await world.tick(NOON_S)
    expect(await said(world)).toEqual(await said(await orderly(records, NOON_S)))
  },
)

function isLate(index: number): boolean {
  return index % 97 < 30 && index > 50
}

test('late, early, repeated and shuffled readings end where the orderly feed ends', async () => {
  const fromS = NOON_S - 6 * DAY_S
  const records = sawTooth({ fromS, toS: NOON_S })
  const world = await makeCheckWorld()
  world.clock.nowS = NOON_S - DAY_S
  await feed(
    world,
    records.filter((record, index) => record.at < NOON_S - DAY_S && !isLate(index)),
  )
  while ((await world.tick(NOON_S - DAY_S)) > 0);
  world.clock.nowS = NOON_S
  await feed(
    world,
    records.filter((record, index) => record.at < NOON_S - DAY_S && isLate(index)).toReversed(),
  )
  await world.tick(NOON_S - DAY_S + 300)
  await feed(
    world,
    records.filter((record) => record.at >= NOON_S - DAY_S),
  )
  await feed(world, records.slice(0, 500))
  while ((await world.tick(NOON_S)) > 0);
  expect(await said(world)).toEqual(await said(await orderly(records, NOON_S)))
})

test('a reading that arrives while its time is being checked is not lost', async () => {
  const fromS = NOON_S - DAY_S
  const records = sawTooth({ fromS, toS: NOON_S })
  const late = records.find((record) => record.at === NOON_S - 900)
  const world = await makeCheckWorld()
  world.clock.nowS = NOON_S
  await feed(
    world,
    records.filter((record) => record !== late),
  )
  await world.tick(NOON_S - 600)
  const { checks } = world.shard
  const inputs = async (...a: Parameters<typeof checks.inputs>) => {
    const found = await checks.inputs(...a)
    await feed(world, [late ?? {}])
    return found
  }
  await world.tick(NOON_S, { checks: { inputs } })
  await world.tick(NOON_S)
  expect(await said(world)).toEqual(await said(await orderly(records, NOON_S)))
})

const isIn = (from: number, to: number) => (record: HubRecord) => record.at >= from && record.at < to

describe('while a check goes back already, for something older,', () => {
  const fromS = NOON_S - 2 * DAY_S
  const records = sawTooth({ fromS, toS: NOON_S })
  const older = records.filter(isIn(NOON_S - 20 * 3600, NOON_S - 19 * 3600))
  const newer = records.filter(isIn(NOON_S - 9 * 3600, NOON_S - 7 * 3600))
  const rest = records.filter((record) => !older.includes(record) && !newer.includes(record))

  async function between(work: (world: CheckWorld) => Promise<unknown>, first: readonly HubRecord[]) {
    const world = await orderly(first, NOON_S)
    await feed(world, older)
    let isDone = false
    const inputs = async (...a: Parameters<typeof world.shard.checks.inputs>) => {
      const found = await world.shard.checks.inputs(...a)
      if (!isDone) await work(world)
      isDone = true
      return found
    }
    await world.tick(NOON_S, { checks: { inputs } })
    while ((await world.tick(NOON_S)) > 0);
    return world
  }

  test('late readings that arrive are not lost, of one rig or of many', async () => {
    const expected = await said(await orderly(records, NOON_S))
    expect(await said(await between((world) => feed(world, newer), rest))).toEqual(expected)
    // More parts than are stored one by one.
    const many = [0, 1, 2, 3].flatMap((place) =>
      newer.map((record) =>
        Object.assign({}, record, { place: ['return', 'supply', 'ambient', 'engine'][place] }),
      ),
    )
    const fresh = [0, 1, 2, 3].map((place) => ({
      at: NOON_S - 30,
      humidity: 9,
      place: ['return', 'supply', 'ambient', 'engine'][place],
    }))
    const inOrder = await orderly([...rest, ...older, ...many], NOON_S)
    await feed(inOrder, fresh)
    const world = await between((late) => feed(late, [...many, ...fresh]), rest)
    expect(await said(world)).toEqual(await said(inOrder))
  })

  test('an entry and settings that are made are not lost', async () => {
    const enter = async (world: CheckWorld) => {
      const rig = world.rigs[0]?.id ?? ''
      const bake = { atS: NOON_S - 8 * 3600, what: 'bake', detail: { tempC: '120' }, by: null, nowS: NOON_S }
      await world.shard.logbook.add(rig, bake)
      const settings = { band: { start: 15, stop: 6 }, beadMassG: 2000, volumeL: 45, flowLPerMin: 2.5 }
      await world.shard.rigs.setSettings(rig, { fromS: NOON_S - 10 * 3600, settings })
    }
    const world = await between(enter, [...rest, ...newer])
    const inOrder = await makeCheckWorld()
    inOrder.clock.nowS = NOON_S
    await enter(inOrder)
    await feed(inOrder, records)
    while ((await inOrder.tick(NOON_S)) > 0);
    expect((await said(world)).fills.map(({ from_s }) => from_s)).toContain(NOON_S - 8 * 3600)
    expect(await said(world)).toEqual(await said(inOrder))
  })
})

test('a reading whose post takes minutes to arrive, past the check of its time, is not lost', async () => {
  const fromS = NOON_S - DAY_S
  const records = sawTooth({ fromS, toS: NOON_S })
  const slow = records.find((record) => record.at === NOON_S - 900)
  const world = await makeCheckWorld()
  const others = records.filter((record) => record !== slow)
  world.clock.nowS = NOON_S - 400
  await feed(
    world,
    others.filter(({ at }) => at < NOON_S - 400),
  )
  const arrive = async (controller: ReadableStreamDefaultController) => {
    // The line gives it up only after the tick.
    world.clock.nowS = NOON_S - 290
    await world.tick(NOON_S - 300)
    controller.enqueue(new TextEncoder().encode(JSON.stringify(slow)))
    controller.close()
  }
  // Nothing is asked for before somebody reads it.
  const body = new ReadableStream({ pull: arrive }, { highWaterMark: 0 })
  const headers = { authorization: `Bearer ${world.key}`, 'content-type': 'application/json' }
  expect((await world.send({ headers, body })).body.stored).toBe(1)
  world.clock.nowS = NOON_S
  await feed(world, others)
  while ((await world.tick(NOON_S)) > 0);
  expect(await said(world)).toEqual(await said(await orderly(records, NOON_S)))
})

test('a late bake rewinds and starts its fill where it belongs; taking it out again undoes that', async () => {
  const fromS = NOON_S - 5 * DAY_S
  const records = sawTooth({ fromS, toS: NOON_S })
  const plain = await orderly(records, NOON_S)
  const world = await orderly(records, NOON_S)
  const rig = world.rigs[0]?.id ?? ''
  const bake = {
    atS: NOON_S - 3 * DAY_S,
    what: 'bake',
    detail: { tempC: '120', hours: '3' },
    by: null,
    nowS: NOON_S,
  }
  const entry = await world.shard.logbook.add(rig, bake)
  while ((await world.tick(NOON_S)) > 0);
  const early = await makeCheckWorld()
  early.clock.nowS = NOON_S
  await early.shard.logbook.add(early.rigs[0]?.id ?? '', bake)
  await feed(early, records)
  while ((await early.tick(NOON_S)) > 0);
  expect(await said(world)).toEqual(await said(early))
  expect((await said(world)).fills).not.toEqual((await said(plain)).fills)
  await world.shard.logbook.remove(rig, entry?.id ?? '')
  while ((await world.tick(NOON_S)) > 0);
  expect(await said(world)).toEqual(await said(plain))
})

test('changed settings rewind to the time they hold from', async () => {
  const records = sawTooth({ fromS: NOON_S - 3 * DAY_S, toS: NOON_S })
  const settings = { band: { start: 15, stop: 6 }, volumeL: 45, flowLPerMin: 2.5, beadMassG: 2000 }
  const world = await orderly(records, NOON_S)
  await world.shard.rigs.setSettings(world.rigs[0]?.id ?? '', { fromS: NOON_S - 2 * DAY_S, settings })
  while ((await world.tick(NOON_S)) > 0);
  const early = await makeCheckWorld()
  early.clock.nowS = NOON_S
  await early.shard.rigs.setSettings(early.rigs[0]?.id ?? '', { fromS: NOON_S - 2 * DAY_S, settings })
  await feed(early, records)
  while ((await early.tick(NOON_S)) > 0);
  expect(await said(world)).toEqual(await said(early))
})

test('an alert that late readings take back is over with the reason, and its events stay', async () => {
  const records = sawTooth({ fromS: NOON_S - 5 * DAY_S, toS: NOON_S })
  const isMissing = (record: { at: number }): boolean => record.at > NOON_S - 12 * 3600
  const world = await makeCheckWorld()
  world.clock.nowS = NOON_S
  await feed(
    world,
    records.filter((record) => !isMissing(record)),
  )
  while ((await world.tick(NOON_S)) > 0);
  expect((await said(world)).open).toMatchObject([{ rule: 'silent' }])
  await feed(world, records.filter(isMissing))
  while ((await world.tick(NOON_S + 300)) > 0);
  expect((await said(world)).open).toEqual([])
  const page = await world.shard.alerts.ofRig(world.rigs[0]?.id ?? '', { after: null, limit: 10 })
  expect(page.items.filter((alert) => alert.rule === 'silent')).toMatchObject([
    { state: 'over', overWhy: 'late-input' },
  ])
  const told = await events(world)
  expect(
    told.filter((event) => event.rule === 'silent' && event.is_past === 0).map((event) => event.event),
  ).toEqual(['raised', 'over'])
})

test('one rig whose data makes the code throw is set back an hour and stops no other', async () => {
  const world = await makeCheckWorld({ slugs: ['broken', 'fine'] })
  world.clock.nowS = NOON_S
  const records = sawTooth({ fromS: NOON_S - DAY_S, toS: NOON_S })
  await feed(world, forRigs(records, ['broken', 'fine']))
  await world.raw
    .prepare(
      "UPDATE rig_settings SET settings = '{}' WHERE rig_id = (SELECT rig_id FROM rig WHERE public_id = ?1)",
    )
    .bind(world.rigs[0]?.id ?? '')
    .run()
  await world.tick(NOON_S)
  const grids = async () =>
    (
      await world.raw
        .prepare(
          'SELECT r.slug, m.grid_s, m.set_back_until_s s, m.failures f FROM memory m JOIN rig r ON r.rig_id = m.rig_id WHERE r.hangar = ?1 ORDER BY 1',
        )
        .bind(world.hangar)
        .all()
    ).results
  expect(await grids()).toEqual([
    { slug: 'broken', grid_s: 0, s: NOON_S + 3600, f: 1 },
    { slug: 'fine', grid_s: NOON_S - 600, s: null, f: 0 },
  ])
  await world.raw
    .prepare('UPDATE rig_settings SET settings = ?1')
    .bind('{"band":{"start":15,"stop":6}}')
    .run()
  await world.tick(NOON_S + 300)
  expect(await grids()).toMatchObject([{ grid_s: 0 }, { grid_s: NOON_S - 300 }])
  await world.tick(NOON_S + 3600)
  expect(await grids()).toMatchObject([{ grid_s: NOON_S + 3000, s: null, f: 0 }, {}])
})

test('many rigs are spread over the queue; consumers do the same step; a queue that fails leaves it to the tick', async () => {
  const slugs = ['a', 'b', 'c', 'd', 'e']
  const world = await makeCheckWorld({ slugs })
  world.clock.nowS = NOON_S
  const records = sawTooth({ fromS: NOON_S - DAY_S, toS: NOON_S })
  await feed(world, forRigs(records, slugs))
  const few = { ...BUDGETS.paid, inlineRigsMax: 3, stepRigsMax: 2 }
  await forgetTicks(world)
  await world.tick(NOON_S, { budgets: few })
  expect((await said(world, 0)).memory).toMatchObject([{ grid_s: 0 }])
  const mine = world.queued.flatMap((batch) => batch.rigKeys)
  expect(new Set(mine).size).toBe(mine.length)
  expect(mine.length).toBeGreaterThanOrEqual(5)
  // The queue has taken them; the rigs count as checked once a consumer has done something, not before.
  expect(await checkedS(world)).toBe(0)
  for (const batch of [...world.queued, ...world.queued]) {
    expect(batch.rigKeys.length).toBeLessThanOrEqual(2)
    await runQueuedBatch(world.checkPorts({ budgets: few }), batch)
    expect(await checkedS(world)).toBe(NOON_S)
  }
  const expected = await said(await orderly(records, NOON_S))
  for (const [index] of slugs.entries()) expect(await said(world, index)).toEqual(expected)
  await world.tick(NOON_S + 300, { budgets: few, spread: () => Promise.reject(new Error('queue full')) })
  expect((await said(world, 4)).memory).toMatchObject([{ grid_s: NOON_S - 300 }])
})

/** The tests of a file share a database, and with it when the schedule last ran. */
const forgetTicks = (world: CheckWorld) => world.raw.prepare('UPDATE schedule SET checked_s = 0').run()

const checkedS = async (world: CheckWorld) =>
  (await world.raw.prepare('SELECT checked_s FROM schedule').first<{ checked_s: number }>())?.checked_s

test.each([
  ['before', true],
  ['after', false],
])(
  'a database that fails %s it keeps no other from its turn, and the tick counts as failed',
  async (_, isFirst) => {
    const world = await makeCheckWorld()
    world.clock.nowS = NOON_S
    await feed(world, sawTooth({ fromS: NOON_S - DAY_S, toS: NOON_S }))
    await forgetTicks(world)
    const ports = world.checkPorts()
    const [whole] = ports.shards
    if (whole === undefined) throw new Error('no shard')
    const finished: number[] = []
    const broken = {
      shard: 1,
      checks: {
        ...whole.checks,
        dueRigs: () => Promise.reject(new Error('no answer')),
        finishTick: ({ checkedS: atS }: { checkedS: number }) => Promise.resolve(void finished.push(atS)),
      },
    }
    const shards = isFirst ? [broken, whole] : [whole, broken]
    await expect(runTick({ ...ports, shards }, NOON_S)).rejects.toThrow('no answer')
    expect(await checkedS(world)).toBe(NOON_S)
    expect(finished).toEqual([])
    expect(world.log.join('\n')).toContain('shard-failed')
  },
)
