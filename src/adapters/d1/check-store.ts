/** Loading for the scheduled check: memories, checkpoints and what is new since. */
import { PLACES } from '../../core/fold/inputs.ts'
import type { KnownAlert } from '../../core/schedule/project-alerts.ts'
import type { CheckStore, Checkpoint, CheckpointAsk, RigMemory } from '../../flows/check-ports.ts'
import { inputsOf } from './check-inputs.ts'
import { writeSteps } from './check-write.ts'
import type { Random } from './shard.ts'
import { parseStored } from './stored.ts'

export function checkStore(db: D1Database, shard: number, random: Random): CheckStore {
  return {
    dueRigs: async (afterKey, limit, nowS) => {
      const found = await db
        .prepare(
          `SELECT rig_id FROM memory WHERE rig_id > ?1 AND (set_back_until_s IS NULL OR set_back_until_s <= ?3)
           ORDER BY rig_id LIMIT ?2`,
        )
        .bind(afterKey, limit, nowS)
        .all<{ rig_id: number }>()
      return found.results.map((row) => row.rig_id)
    },
    memories: (rigKeys, nowS) => memoriesOf(db, rigKeys, nowS),
    checkpointBefore: (ask) => checkpointBefore(db, ask),
    beginnings: (rigs) => beginnings(db, rigs),
    inputs: (spans) => inputsOf(db, spans),
    openAlerts: (rigKey) => openAlerts(db, rigKey),
    writeSteps: (steps, token) => writeSteps(db, { steps, token, shard, random }),
    setBack: async (rigKey, untilS, failure) => {
      await db
        .prepare(
          'UPDATE memory SET set_back_until_s = ?2, failures = failures + 1, failure = ?3 WHERE rig_id = ?1',
        )
        .bind(rigKey, untilS, failure)
        .run()
    },
    finishTick: async ({ checkedS, behind }) => {
      await db
        .prepare('UPDATE schedule SET checked_s = max(checked_s, ?1), behind = ?2 WHERE one = 1')
        .bind(checkedS, behind)
        .run()
    },
  }
}

type MemoryRecord = {
  rig_id: number
  seq: number
  version: number
  grid_s: number
  reached_s: number
  rewind_from_s: number | null
  readings_from_s: number
  body: string | null
}

async function memoriesOf(
  db: D1Database,
  rigKeys: readonly number[],
  nowS: number,
): Promise<readonly RigMemory[]> {
  const found = await db
    .prepare(
      `SELECT m.rig_id, m.seq, m.version, m.grid_s, m.reached_s, m.rewind_from_s, m.readings_from_s, m.body
       FROM json_each(?1) j CROSS JOIN memory m
       WHERE m.rig_id = j.value AND (m.set_back_until_s IS NULL OR m.set_back_until_s <= ?2)`,
    )
    .bind(JSON.stringify(rigKeys), nowS)
    .all<MemoryRecord>()
  return found.results.map((row) => ({
    rigKey: row.rig_id,
    seq: row.seq,
    version: row.version,
    gridS: row.grid_s,
    reachedS: row.reached_s,
    rewindFromS: row.rewind_from_s,
    readingsFromS: row.readings_from_s,
    body: row.body,
  }))
}

async function checkpointBefore(db: D1Database, ask: CheckpointAsk): Promise<Checkpoint | null> {
  const row = await db
    .prepare(
      `SELECT grid_s, body FROM checkpoint WHERE rig_id = ?1 AND grid_s < ?2 AND grid_s >= ?4 AND version = ?3
       ORDER BY grid_s DESC LIMIT 1`,
    )
    .bind(ask.rigKey, ask.beforeS, ask.version, ask.readingsFromS)
    .first<{ grid_s: number; body: string }>()
  return row === null ? null : { gridS: row.grid_s, body: row.body }
}

const HERE = 'rig_id = j.value ->> 0 AND at_s >= j.value ->> 1'

/** One seek a place, and one for the fill. */
async function beginnings(
  db: D1Database,
  rigs: Parameters<CheckStore['beginnings']>[0],
): ReturnType<CheckStore['beginnings']> {
  const first = PLACES.map(
    (_, place) =>
      `coalesce((SELECT at_s FROM reading WHERE ${HERE} AND place = ${place} ORDER BY at_s LIMIT 1), ?2)`,
  )
  const found = await db
    .prepare(
      `SELECT j.value ->> 0 AS rig_id, min(${first.join(', ')}) AS first_s,
         (SELECT from_s FROM fill WHERE rig_id = j.value ->> 0 AND from_s < j.value ->> 1
          ORDER BY from_s DESC LIMIT 1) AS fill_from_s
       FROM json_each(?1) j`,
    )
    .bind(JSON.stringify(rigs.map(({ rigKey, readingsFromS }) => [rigKey, readingsFromS])), NEVER_S)
    .all<{ rig_id: number; first_s: number; fill_from_s: number | null }>()
  const heard = found.results.filter((row) => row.first_s < NEVER_S)
  return new Map(
    heard.map((row) => [row.rig_id, { firstS: row.first_s, fillFromS: row.fill_from_s }] as const),
  )
}

const NEVER_S = Number.MAX_SAFE_INTEGER

async function openAlerts(db: D1Database, rigKey: number): Promise<readonly KnownAlert[]> {
  const found = await db
    .prepare(
      `SELECT rule, raised_at_s, since_s, urgency, evidence FROM alert WHERE rig_id = ?1 AND over_at_s IS NULL
       ORDER BY raised_at_s`,
    )
    .bind(rigKey)
    .all<{
      rule: KnownAlert['rule']
      raised_at_s: number
      since_s: number
      urgency: KnownAlert['urgency']
      evidence: string
    }>()
  return found.results.map((row) => ({
    rule: row.rule,
    raisedAtS: row.raised_at_s,
    sinceS: row.since_s,
    urgency: row.urgency,
    evidence: parseStored<KnownAlert['evidence']>(row.evidence),
  }))
}
