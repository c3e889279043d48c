/** What a post costs in rows and round trips, with a day and with three years of history: the same. */
import { describe, expect, test } from 'vitest'
import { at, makeStoreWorld, START_S } from './store-world.ts'
import type { StoreWorld } from './store-world.ts'

const YEAR_S = 365 * 86_400

async function fillHistory(world: StoreWorld, spanS: number): Promise<void> {
  await world.raw
    .prepare(
      `INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct, temp_centi_c)
       WITH RECURSIVE n (at_s) AS (SELECT ?1 UNION ALL SELECT at_s + 300 FROM n WHERE at_s + 300 < ?2)
       SELECT r.rig_id, 0, n.at_s, 900, 1500 FROM n, rig r WHERE r.public_id = ?3`,
    )
    .bind(START_S - spanS, START_S - 3000, world.rigs[0]?.id ?? '')
    .run()
}

describe.each([
  ['a day', 86_400],
  ['three years', 3 * YEAR_S],
])('with %s of history', (_, spanS) => {
  test('posts cost what they may, and one round trip', async () => {
    const world = await makeStoreWorld()
    await fillHistory(world, spanS)
    const stored = await world.raw.prepare('SELECT count(*) n FROM reading').first('n')
    expect(stored).toBeGreaterThan(spanS / 300 - 20)

    await world.post({ at: at(START_S - 1), humidity: 9 }) // the source is known now, a good post kept for the hour
    world.take()

    const single = await world.post({ at: at(START_S), humidity: 9.1, temperature: 18, pump: true })
    expect(single.body.stored).toBe(1)
    const one = world.take()
    expect(one).toMatchObject({ trips: 1, written: 1 })
    expect(one.read).toBeLessThanOrEqual(6)

    await world.post({ at: at(START_S), humidity: 9.1 })
    const repeated = world.take()
    expect(repeated).toMatchObject({ trips: 1, written: 0 })
    expect(repeated.read).toBeLessThanOrEqual(6)

    const late = Array.from({ length: 1000 }, (__, index) => ({
      at: START_S - 10_000_000 * 20 + index * 60,
      humidity: 9,
    }))
    const batch = await world.post(late)
    expect(batch.body.stored).toBe(1000)
    const thousand = world.take()
    expect(thousand.trips).toBe(1)
    // One row a reading, and the mark that the analysis has to go back.
    expect(thousand.written).toBe(1000 + 1)
    expect(thousand.read).toBeLessThanOrEqual(6 + 5 * 1000)

    const again = await world.post(late)
    expect(again.body.repeated).toBe(1000)
    const same = world.take()
    expect(same).toMatchObject({ trips: 1, written: 0 })
    expect(same.read).toBeLessThanOrEqual(6 + 5 * 1000)

    const filled = await world.post(late.map((record) => ({ at: record.at, temperature: 12 })))
    expect(filled.body.stored).toBe(1000)
    const fill = world.take()
    // The mark is there already; a check that goes back to it at this moment has to learn that there is more.
    expect(fill).toMatchObject({ trips: 1, written: 1000 + 1 })
    expect(fill.read).toBeLessThanOrEqual(6 + 5 * 1000)
  })
})

test.each([
  ['a day', 86_400, 500],
  ['three years', 3 * YEAR_S, 600],
])(
  'behind %s of history 100,000 readings, rigs and places mixed, take at most 26 bytes each on disk',
  async (_, spanS, firstRig) => {
    const world = await makeStoreWorld()
    await fillHistory(world, spanS)
    const size = async (): Promise<number> => {
      const answer = await world.raw.prepare('SELECT 1').run()
      return answer.meta.size_after
    }
    const before = await size()
    for (let part = 0; part < 20; part++)
      await world.raw
        .prepare(
          `INSERT INTO reading
         WITH RECURSIVE n (i) AS (SELECT ${part * 5000} UNION ALL SELECT i + 1 FROM n WHERE i + 1 < ${(part + 1) * 5000})
         SELECT ${firstRig} + (i % 20) / 4, i % 4, ${START_S} + (i / 20) * 300, 600 + (i * 37) % 1000,
           1800 + (i * 13) % 900, i % 2, (i % 2) * 41 FROM n`,
        )
        .run()
    expect(((await size()) - before) / 100_000).toBeLessThanOrEqual(26)
  },
)
