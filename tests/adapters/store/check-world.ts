/** The schedule over a real database: ticks at given times, and all that it wrote about a rig, to compare. */
import { BUDGETS } from '../../../src/core/limits.ts'
import type { Budgets } from '../../../src/core/limits.ts'
import type { CheckStore } from '../../../src/flows/check-ports.ts'
import type { CheckPorts, RigBatch } from '../../../src/flows/run-checks.ts'
import { runTick } from '../../../src/flows/run-checks.ts'
import { makeStoreWorld } from './store-world.ts'
import type { StoreWorld } from './store-world.ts'

export async function makeCheckWorld(change: { slugs?: readonly string[] } = {}) {
  const world = await makeStoreWorld(change)
  const queued: RigBatch[] = []
  const checkPorts = (
    use: { budgets?: Budgets; checks?: Partial<CheckStore>; spread?: CheckPorts['spread'] } = {},
  ): CheckPorts => ({
    budgets: use.budgets ?? BUDGETS.paid,
    randomBytes: (bytes) => crypto.getRandomValues(new Uint8Array(bytes)),
    shards: [{ shard: 0, checks: { ...world.shard.checks, ...use.checks } }],
    spread: use.spread ?? ((batches) => Promise.resolve(void queued.push(...batches))),
    log: (line) => void world.log.push(JSON.stringify(line)),
  })
  const tick = (atS: number, use: Parameters<typeof checkPorts>[0] = {}): Promise<number> =>
    runTick(checkPorts(use), atS)
  return { ...world, queued, checkPorts, tick }
}

export type CheckWorld = Awaited<ReturnType<typeof makeCheckWorld>>

/** Posts records at the world's time, in parts of at most 5,000. */
export async function feed(world: StoreWorld, records: readonly object[]): Promise<void> {
  for (let from = 0; from < records.length; from += 5000) {
    const reply = await world.post(records.slice(from, from + 5000))
    if (reply.status !== 200 || reply.body.setAsideTotal > 0) throw new Error(JSON.stringify(reply.body))
  }
}

/** What the analysis says of a rig, without keys and ids that differ from run to run. */
export async function said(world: StoreWorld, rig = 0) {
  const id = world.rigs[rig]?.id ?? ''
  async function all<T = unknown>(sql: string): Promise<T[]> {
    return (await world.raw.prepare(sql).bind(id).all<T>()).results
  }
  return {
    memory: await all(`SELECT t.grid_s, t.body ${of('memory')}`),
    cycles: await all(`SELECT t.at_s, t.body ${of('cycle')} ORDER BY t.at_s`),
    fills: await all<{ from_s: number; to_s: number | null; body: string }>(
      `SELECT t.from_s, t.to_s, t.body ${of('fill')} ORDER BY t.from_s`,
    ),
    exposure: await all(`SELECT t.from_s, t.body ${of('exposure_day')} ORDER BY t.from_s`),
    rollups: await all(
      `SELECT t.place, t.span_s, t.from_s, t.humidity_min_centi_pct, t.humidity_mean_centi_pct, t.humidity_max_centi_pct, t.heard_s ${of('rollup')} ORDER BY 1, 2, 3`,
    ),
    open: await all<{ rule: string }>(
      `SELECT t.rule, t.raised_at_s, t.since_s, t.urgency, t.evidence ${of('alert')} AND t.over_at_s IS NULL ORDER BY 1`,
    ),
  }
}

export type TestEvent = { rule: string; event: string; at_s: number; raised_at_s: number; is_past: number }

export async function events(world: StoreWorld, rig = 0): Promise<TestEvent[]> {
  const found = await world.raw
    .prepare(
      `SELECT e.rule, e.event, e.at_s, e.raised_at_s, e.is_past FROM alert_event e JOIN rig r ON r.rig_id = e.rig_id
       WHERE r.public_id = ?1 ORDER BY e.at_s, e.rule, e.event`,
    )
    .bind(world.rigs[rig]?.id ?? '')
    .all<TestEvent>()
  return found.results
}

function of(table: string): string {
  return `FROM ${table} t JOIN rig r ON r.rig_id = t.rig_id WHERE r.public_id = ?1`
}
