import type { D1Database } from '@cloudflare/workers-types'
import { DELIVERY_KEPT_DAYS } from '../../core/limits.ts'
import type { RuleName, Urgency } from '../../core/fold/outputs.ts'
import type { MessageKind } from '../../core/messages/decide.ts'
import type { DeliveryKey, DueDelivery, Outbox, Recipient } from '../../flows/message-ports.ts'
import { moveStatement } from './delivery-move.ts'
import { settleStatements } from './delivery-settlement.ts'

/** The outbox, in the database of the people. */
export function outbox(db: D1Database): Outbox {
  return {
    handOver: async (events, nowS) => {
      const rows = events.map((e) => Object.assign({}, e, { rank: e.kind === 'over' ? 2 : RANK[e.urgency] }))
      await db.prepare(HAND_OVER).bind(JSON.stringify(rows), nowS).run()
    },
    due: (nowS, limit) => due(db, nowS, limit),
    move: async (moves) => {
      const { results } = await moveStatement(db, moves).all<MovedRow>()
      return results.map((row) => ({ alert: row.alert, device: row.device, atS: row.at_s, kind: row.kind }))
    },
    settle: async (settlement, nowS) => {
      const statements = settleStatements(db, settlement, nowS)
      if (statements.length > 0) await db.batch(statements)
    },
    tidy: async (nowS) => {
      await db
        .prepare(TIDY)
        .bind(nowS - DELIVERY_KEPT_DAYS * 86_400)
        .run()
    },
  }
}

/** Looks at the whole table, which holds what is open: once a day is often enough. */
const TIDY = `
  DELETE FROM delivery
   WHERE made_at_s < ?1
      OR NOT EXISTS (SELECT 1 FROM device d JOIN member m ON m.person = d.person
                      WHERE d.id = delivery.device AND m.hangar = delivery.hangar)`

const RANK: Readonly<Record<Urgency, number>> = { now: 0, visit: 1, note: 2 }

/**
 * A device gets what it asked for of the rigs it asked for; that an alert is over, or has changed, also to a
 * lower urgency, whoever was told of it.
 */
const HAND_OVER = `
  INSERT INTO delivery (alert, device, at_s, kind, hangar, rig, rule, urgency, rank, state, due_at_s, made_at_s)
  SELECT e.value->>'alert', d.id, e.value->>'atS', e.value->>'kind', m.hangar, e.value->>'rig',
         e.value->>'rule', e.value->>'urgency', e.value->>'rank', 'waiting', e.value->>'dueAtS', ?2
    FROM json_each(?1) e
    JOIN member m ON m.hangar = e.value->>'hangar'
    JOIN device d ON d.person = m.person
   WHERE d.endpoint IS NOT NULL
     AND (EXISTS (SELECT 1 FROM delivery p WHERE p.alert = e.value->>'alert' AND p.device = d.id)
       OR (e.value->>'kind' <> 'over'
           AND CASE e.value->>'urgency' WHEN 'now' THEN d.wants_now WHEN 'visit' THEN d.wants_visit
                                        ELSE d.wants_note END = 1
           AND (d.rigs IS NULL OR EXISTS (SELECT 1 FROM json_each(d.rigs) w WHERE w.value = e.value->>'rig'))))
  ON CONFLICT DO NOTHING`

type MovedRow = {
  readonly alert: string
  readonly device: string
  readonly at_s: number
  readonly kind: MessageKind
}

type DueRow = {
  readonly alert: string
  readonly device: string
  readonly at_s: number
  readonly kind: MessageKind
  readonly hangar: string
  readonly rig: string
  readonly rule: RuleName
  readonly urgency: Urgency
  readonly due_at_s: number
  readonly attempts: number
  readonly is_short: number
  readonly made_at_s: number
  readonly has_newer: number
  readonly may_know: number
  readonly reminders: number
  readonly endpoint: string | null
  readonly p256dh: string | null
  readonly auth: string | null
  readonly origin: string | null
  readonly rigs: string | null
  readonly quiet_from_min: number | null
  readonly quiet_to_min: number | null
  readonly is_quiet_for_now: number | null
  readonly zone: string | null
  readonly unit: 'degC' | 'degF' | null
  readonly hangar_name: string | null
  readonly shard: number | null
}

/** The waiting rows of one rank that are due, oldest first: a walk along the index that stops at the limit. */
function dueOfRank(rank: number): string {
  return `SELECT * FROM (SELECT * FROM delivery WHERE state = 'waiting' AND rank = ${rank} AND due_at_s <= ?1
                         ORDER BY due_at_s LIMIT ?2)`
}

/**
 * A membership that has ended sends nothing more, whatever was waiting. An alert is over once: that is its last word,
 * whatever time stands on it, since late readings may date the end before what was said.
 */
const DUE = `
  WITH w AS (${[0, 1, 2].map(dueOfRank).join(' UNION ALL ')} LIMIT ?2)
  SELECT w.alert, w.device, w.at_s, w.kind, w.hangar, w.rig, w.rule, w.urgency, w.due_at_s, w.attempts,
         w.is_short, w.made_at_s,
         w.kind <> 'over' AND EXISTS (
           SELECT 1 FROM delivery n WHERE n.alert = w.alert AND n.device = w.device
              AND (n.kind = 'over' OR n.at_s > w.at_s AND (n.kind <> 'reminder' OR w.kind = 'reminder'))) AS has_newer,
         EXISTS (SELECT 1 FROM delivery o WHERE o.alert = w.alert AND o.device = w.device
                    AND o.kind <> w.kind AND o.attempts > 0) AS may_know,
         (SELECT count(*) FROM delivery c WHERE c.alert = w.alert AND c.device = w.device
                    AND c.kind = 'reminder') AS reminders,
         d.endpoint, d.p256dh, d.auth, d.origin, d.rigs, d.quiet_from_min, d.quiet_to_min, d.is_quiet_for_now,
         p.zone, p.unit, h.name AS hangar_name, h.shard
    FROM w
    LEFT JOIN device d ON d.id = w.device AND d.endpoint IS NOT NULL
    LEFT JOIN member m ON m.hangar = w.hangar AND m.person = d.person
    LEFT JOIN person p ON p.id = m.person
    LEFT JOIN hangar h ON h.id = m.hangar AND h.deleting_at_s IS NULL
   ORDER BY w.rank, w.due_at_s`

async function due(db: D1Database, nowS: number, limit: number): Promise<readonly DueDelivery[]> {
  const { results } = await db.prepare(DUE).bind(nowS, limit).all<DueRow>()
  return results.map((row) => Object.assign(keyOf(row), stateOf(row), { to: recipientOf(row) }))
}

function keyOf(row: MovedRow): DeliveryKey {
  return { alert: row.alert, device: row.device, atS: row.at_s, kind: row.kind }
}

function stateOf(row: DueRow): Omit<DueDelivery, keyof DeliveryKey | 'to'> {
  return {
    hangar: row.hangar,
    rig: row.rig,
    rule: row.rule,
    urgency: row.urgency,
    dueAtS: row.due_at_s,
    attempts: row.attempts,
    isShort: row.is_short === 1,
    madeAtS: row.made_at_s,
    hasNewer: row.has_newer === 1,
    mayKnow: row.may_know === 1,
    reminders: row.reminders,
  }
}

function readRigs(text: string): readonly string[] {
  const rigs: string[] = JSON.parse(text)
  return rigs
}

function recipientOf(row: DueRow): Recipient | null {
  const { endpoint, p256dh, auth, origin, zone, shard, hangar_name: hangarName } = row
  if (!endpoint || !p256dh || !auth || origin === null || zone === null || hangarName === null) return null
  const { quiet_from_min: fromMin, quiet_to_min: toMin } = row
  return {
    device: row.device,
    subscription: { endpoint, p256dh, auth },
    origin,
    tongue: { zone, tempUnit: row.unit ?? 'degC' },
    rigs: row.rigs === null ? null : readRigs(row.rigs),
    quiet: fromMin === null || toMin === null ? null : { fromMin, toMin, zone },
    isQuietForNow: row.is_quiet_for_now === 1,
    hangarName,
    shard: shard ?? 0,
  }
}
