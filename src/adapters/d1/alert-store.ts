/** Alerts as people see them: what the analysis says, and who has seen it. */
import type { AlertRow, AlertStore, Page, Paged } from '../../flows/ports.ts'
import { readCursor, writeCursor } from './cursor.ts'
import { parseStored } from './stored.ts'

export function alertStore(db: D1Database): AlertStore {
  return {
    open: async (hangars) => {
      const found = await db
        .prepare(
          `${ALERT} WHERE a.over_at_s IS NULL AND r.hangar IN (SELECT value FROM json_each(?1))
           ORDER BY CASE a.urgency WHEN 'now' THEN 0 WHEN 'visit' THEN 1 ELSE 2 END, a.since_s, a.alert_id`,
        )
        .bind(JSON.stringify(hangars))
        .all<AlertRecord>()
      return found.results.map(alertOf)
    },
    ofRig: (rig, page) => ofRig(db, rig, page),
    byId: async (id) => {
      const row = await db.prepare(`${ALERT} WHERE a.public_id = ?1`).bind(id).first<AlertRecord>()
      return row === null ? null : alertOf(row)
    },
    markSeen: async (id, by, nowS) => {
      const [found] = await db.batch([
        db.prepare('SELECT alert_id FROM alert WHERE public_id = ?1').bind(id),
        db
          .prepare(
            `UPDATE alert SET seen_at_s = ?2, seen_by = ?3
             WHERE public_id = ?1 AND seen_at_s IS NULL AND over_at_s IS NULL`,
          )
          .bind(id, nowS, by),
      ])
      return found?.results.length === 1
    },
  }
}

const ALERT = `
  SELECT a.alert_id, a.public_id, r.public_id AS rig, r.hangar, a.rule, a.urgency, a.since_s, a.raised_at_s, a.over_at_s,
    a.over_why, a.seen_at_s, a.seen_by, a.evidence
  FROM alert a JOIN rig r ON r.rig_id = a.rig_id AND r.deleting_at_s IS NULL`

type AlertRecord = {
  alert_id: number
  public_id: string
  rig: string
  hangar: string
  rule: AlertRow['rule']
  urgency: AlertRow['urgency']
  since_s: number
  raised_at_s: number
  over_at_s: number | null
  over_why: AlertRow['overWhy']
  seen_at_s: number | null
  seen_by: string | null
  evidence: string
}

function alertOf(row: AlertRecord): AlertRow {
  const openState = row.seen_at_s === null ? 'open' : 'seen'
  return {
    id: row.public_id,
    rig: row.rig,
    hangar: row.hangar,
    rule: row.rule,
    urgency: row.urgency,
    state: row.over_at_s === null ? openState : 'over',
    sinceS: row.since_s,
    raisedAtS: row.raised_at_s,
    overAtS: row.over_at_s,
    overWhy: row.over_why,
    seenAtS: row.seen_at_s,
    seenBy: row.seen_by,
    evidence: parseStored<AlertRow['evidence']>(row.evidence),
  }
}

/** Raised-at and the key of a page's last entry; the key breaks ties between rules raised at the same grid time. */
async function ofRig(db: D1Database, rig: string, page: Page): Promise<Paged<AlertRow>> {
  const [beforeS, beforeKey] = readCursor(page.after) ?? [Number.MAX_SAFE_INTEGER, '0']
  const found = await db
    .prepare(
      `${ALERT} WHERE r.public_id = ?1 AND (a.raised_at_s, a.alert_id) < (?2, ?3)
       ORDER BY a.raised_at_s DESC, a.alert_id DESC LIMIT ?4`,
    )
    .bind(rig, beforeS, Number(beforeKey), page.limit + 1)
    .all<AlertRecord>()
  const shown = found.results.slice(0, page.limit)
  const last = shown.at(-1)
  const next =
    found.results.length > page.limit && last ? writeCursor([last.raised_at_s, String(last.alert_id)]) : null
  return { items: shown.map(alertOf), next }
}
