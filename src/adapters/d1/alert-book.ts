import type { D1Database } from '@cloudflare/workers-types'
import type { Evidence, RuleName, Urgency } from '../../core/fold/outputs.ts'
import type { AlertBook, AlertNow, EventKey, UntoldEvent } from '../../flows/message-ports.ts'

/** What the messages read from a shard, and the mark that an event has been handed over. */
export function alertBook(db: D1Database): AlertBook {
  return {
    untold: (limit, reachedS) => untold(db, limit, reachedS),
    markTold: (keys) => markTold(db, keys),
    alerts: (ids) => alerts(db, ids),
    silentRigs: (hangars) => silentRigs(db, hangars),
  }
}

type UntoldRow = {
  readonly rig_id: number
  readonly rule: RuleName
  readonly raised_at_s: number
  readonly at_s: number
  readonly event: 'raised' | 'changed' | 'over'
  readonly urgency: Urgency
  readonly alert: string
  readonly rig: string
  readonly hangar: string
  readonly over_at_s: number | null
}

async function untold(db: D1Database, limit: number, reachedS: number): Promise<readonly UntoldEvent[]> {
  const { results } = await db
    .prepare(
      `SELECT e.rig_id, e.rule, e.raised_at_s, e.at_s, e.event, e.urgency,
              a.public_id AS alert, a.over_at_s, r.public_id AS rig, r.hangar
         FROM alert_event e
         JOIN alert a ON a.rig_id = e.rig_id AND a.rule = e.rule AND a.raised_at_s = e.raised_at_s
         JOIN rig r ON r.rig_id = e.rig_id
         JOIN memory m ON m.rig_id = e.rig_id AND m.grid_s >= ?2
        WHERE e.is_told = 0 AND e.is_past = 0
        ORDER BY e.at_s LIMIT ?1`,
    )
    .bind(limit, reachedS)
    .all<UntoldRow>()
  return results.map((row) => ({
    alert: row.alert,
    rig: row.rig,
    hangar: row.hangar,
    rule: row.rule,
    kind: row.event,
    urgency: row.urgency,
    atS: row.at_s,
    isAlertOver: row.over_at_s !== null,
    key: [row.rig_id, row.rule, row.raised_at_s, row.at_s, row.event],
  }))
}

async function markTold(db: D1Database, keys: readonly EventKey[]): Promise<void> {
  await db
    .prepare(
      `UPDATE alert_event SET is_told = 1
        WHERE (rig_id, rule, raised_at_s, at_s, event) IN
              (SELECT value->>0, value->>1, value->>2, value->>3, value->>4 FROM json_each(?1))`,
    )
    .bind(JSON.stringify(keys))
    .run()
}

type AlertRow = {
  readonly alert: string
  readonly rig_name: string
  readonly urgency: Urgency
  readonly since_s: number
  readonly raised_at_s: number
  readonly over_at_s: number | null
  readonly seen_at_s: number | null
  readonly evidence: string
}

async function alerts(db: D1Database, ids: readonly string[]): Promise<readonly AlertNow[]> {
  const { results } = await db
    .prepare(
      `SELECT a.public_id AS alert, r.name AS rig_name, a.urgency, a.since_s, a.raised_at_s, a.over_at_s,
              a.seen_at_s, a.evidence
         FROM alert a JOIN rig r ON r.rig_id = a.rig_id AND r.deleting_at_s IS NULL
        WHERE a.public_id IN (SELECT value FROM json_each(?1))`,
    )
    .bind(JSON.stringify(ids))
    .all<AlertRow>()
  return results.map((row) => ({
    alert: row.alert,
    rigName: row.rig_name,
    state: row.over_at_s !== null ? 'over' : row.seen_at_s !== null ? 'seen' : 'open',
    urgency: row.urgency,
    sinceS: row.since_s,
    raisedAtS: row.raised_at_s,
    overAtS: row.over_at_s,
    evidence: readEvidence(row.evidence),
  }))
}

function readEvidence(text: string): Evidence {
  const evidence: Evidence = JSON.parse(text)
  return evidence
}

async function silentRigs(db: D1Database, hangars: readonly string[]) {
  const { results } = await db
    .prepare(
      `SELECT r.hangar, a.public_id AS alert, r.public_id AS rig, r.name AS rigName, a.since_s AS sinceS
         FROM rig r JOIN alert a ON a.rig_id = r.rig_id AND a.over_at_s IS NULL
        WHERE r.hangar IN (SELECT value FROM json_each(?1)) AND r.deleting_at_s IS NULL AND a.rule = 'silent'
        ORDER BY a.since_s, r.name`,
    )
    .bind(JSON.stringify(hangars))
    .all<{ hangar: string; alert: string; rig: string; rigName: string; sinceS: number }>()
  return results
}
