/**
 * A tick of the schedule over 1, 100 and 1,000 rigs that all have a new reading: what a rig costs must not grow with
 * the number of rigs. `npm run bench:checks`
 */
import { BUDGETS, GRID_S, SETTLING_S } from '../../src/core/limits.ts'
import type { CheckStore } from '../../src/flows/check-ports.ts'
import { runTick, type CheckPorts } from '../../src/flows/run-checks.ts'
import { makeWorkerWorld, median } from './worker-world.ts'

const SIZES = [1, 100, 1000] as const
const ROUNDS = 11
const WARM_TICKS = 3
/** As asserted in the test of what a tick costs. */
const TRIPS = 5
/** Readings of six hours before the first tick: the rigs are known, and long behind nothing. */
const HISTORY = 72
const START_S = 1_790_000_100

type OpenShard = (
  db: unknown,
  shard: number,
  random: CheckPorts['randomBytes'],
) => { readonly checks: CheckStore }

/** The SQL is typed for the platform, this file for Node: by its address, and by the one thing that is needed of it. */
async function openShard(): Promise<OpenShard> {
  const at = new URL('../../src/adapters/d1/shard.ts', import.meta.url).href
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- see above
  const { shardPorts } = (await import(at)) as { shardPorts: OpenShard }
  return shardPorts
}

type Field = Awaited<ReturnType<typeof makeField>>

const random = (bytes: number) => crypto.getRandomValues(new Uint8Array(bytes))

async function makeField(rigs: number) {
  const world = await makeWorkerWorld()
  const { checks } = (await openShard())(world.db, 0, random)
  const settings = JSON.stringify({
    band: { start: 15, stop: 6 },
    beadMassG: 2000,
    volumeL: 45,
    flowLPerMin: 2.5,
  })
  const many = `WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ${rigs})`
  for (const sql of [
    `${many} INSERT INTO rig SELECT i, 'rig' || i, 'hangar', 'rig-' || i, 'Rig ' || i, ${START_S} FROM n`,
    `INSERT INTO rig_settings SELECT rig_id, 0, '${settings}' FROM rig`,
    'INSERT INTO memory (rig_id) SELECT rig_id FROM rig',
  ])
    await world.db.prepare(sql).run()
  const ports: CheckPorts = {
    // All in one place: it is the work that is measured, not the queue.
    budgets: { ...BUDGETS.paid, inlineRigsMax: Number.POSITIVE_INFINITY },
    randomBytes: random,
    shards: [{ shard: 0, checks }],
    spread: () => Promise.reject(new Error('nothing is spread here')),
    log: (line) => console.log(JSON.stringify(line)),
  }
  let given = 0
  const hear = async (readings: number) => {
    for (let index = 0; index < readings; index++, given++) {
      const place = given % 52
      const humidity = place < 48 ? 600 + Math.round((900 * place) / 48) : [1700, 1100, 800, 620][place - 48]
      await world.db
        .prepare(
          `INSERT INTO reading SELECT rig_id, 0, ${START_S + given * GRID_S}, ${humidity}, 1500, ${place < 48 ? 0 : 1}, NULL FROM rig`,
        )
        .run()
    }
  }
  const tick = () => runTick(ports, START_S + given * GRID_S + SETTLING_S)
  await hear(HISTORY)
  while ((await tick()) > 0);
  const trip = async (): Promise<number> => {
    const fromMs = performance.now()
    await world.db.prepare('SELECT 1').run()
    return performance.now() - fromMs
  }
  return { rigs, hear, tick, trip, stop: world.stop }
}

async function timeTick(field: Field): Promise<number> {
  await field.hear(1)
  const fromMs = performance.now()
  const behind = await field.tick()
  const tookMs = performance.now() - fromMs
  if (behind > 0) throw new Error(`${behind} of ${field.rigs} rigs are behind after a tick`)
  return tookMs
}

const fields: Field[] = []
try {
  for (const size of SIZES) fields.push(await makeField(size))
  // The first ticks compile statements and code; the same number of them for all.
  for (let tick = 0; tick < WARM_TICKS; tick++) for (const field of fields) await timeTick(field)
  const tickMs = new Map<number, number[]>(SIZES.map((size) => [size, []]))
  for (let round = 0; round < ROUNDS; round++)
    for (const field of round % 2 === 0 ? fields : fields.toReversed())
      tickMs.get(field.rigs)?.push(await timeTick(field))
  const tripMs: number[] = []
  for (let i = 0; i < 3 * ROUNDS; i++)
    tripMs.push(await (fields[0]?.trip() ?? Promise.reject(new Error('no rigs'))))
  const of = (size: number) => median(tickMs.get(size) ?? [])
  for (const size of SIZES)
    console.log(
      `${String(size).padStart(5)} rigs: ${of(size).toFixed(1)} ms a tick, ${(of(size) / size).toFixed(2)} ms a rig (median of ${ROUNDS} rounds)`,
    )
  console.log(
    `1,000 rigs cost ${(of(1000) / 1000 / (of(100) / 100)).toFixed(2)} of what 100 cost, each (target: 0.8 to 1.2)`,
  )
  // A tick makes the same round trips for one rig as for a hundred: alone, a rig carries them all.
  console.log(
    `one rig alone carries a tick's ${TRIPS} round trips; one that does nothing takes ${median(tripMs).toFixed(1)} ms here`,
  )
} finally {
  for (const field of fields) await field.stop()
}
