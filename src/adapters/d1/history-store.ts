/** Results brought from elsewhere, for a rig that has not been checked yet: one transaction a call, each row once. */
import { publicId } from '../../core/ids/public-id.ts'
import type { History, HistoryStore, PastAlert } from '../../flows/history.ts'
import { rigKeyOf } from './rig-key.ts'
import { ROLLUP_COLUMNS, rollupValues } from './rollup-row.ts'
import type { Random } from './shard.ts'
import { rowsOf } from './stored.ts'

const MARK = `
  UPDATE memory SET readings_from_s = ?2, reached_s = ?3 WHERE rig_id = ?1 AND body IS NULL RETURNING rig_id`

type Value = string | number | null

/** Only beside a memory that has nothing in it yet. */
function insertInto(table: string, columns: readonly string[]): string {
  const values = columns.map((_, index) => `j.value ->> ${index}`).join(', ')
  return `
    INSERT INTO ${table} (rig_id, ${columns.join(', ')})
    SELECT m.rig_id, ${values} FROM json_each(?2) j JOIN memory m ON m.rig_id = ?1 AND m.body IS NULL WHERE true
    ON CONFLICT DO NOTHING`
}

const ALERT_COLUMNS = [
  'public_id',
  'rule',
  'raised_at_s',
  'since_s',
  'urgency',
  'evidence',
  'over_at_s',
  'over_why',
  'seen_at_s',
]

export function historyStore(db: D1Database, shard: number, random: Random): HistoryStore {
  return {
    take: async (rig, history) => {
      const rigKey = await rigKeyOf(db, rig)
      if (rigKey === null) return false
      const tables = tablesOf(history, () => publicId(shard, random)).filter(([, , rows]) => rows.length > 0)
      const [marked] = await db.batch([
        db.prepare(MARK).bind(rigKey, history.readingsFromS, history.reachedS),
        ...tables.map(([table, columns, rows]) =>
          db.prepare(insertInto(table, columns)).bind(rigKey, JSON.stringify(rows)),
        ),
      ])
      return rowsOf(marked).length === 1
    },
  }
}

type Table = readonly [table: string, columns: readonly string[], rows: readonly (readonly Value[])[]]

function tablesOf(history: History, newId: () => string): readonly Table[] {
  const { cycles, fills, exposureDays, rollups, alerts } = history
  return [
    ['cycle', ['at_s', 'body'], cycles.map((one) => [one.atS, JSON.stringify(one)])],
    ['fill', ['from_s', 'to_s', 'body'], fills.map((one) => [one.fromS, one.toS, JSON.stringify(one)])],
    ['exposure_day', ['from_s', 'body'], exposureDays.map((one) => [one.fromS, JSON.stringify(one)])],
    ['rollup', ROLLUP_COLUMNS, rollups.map(rollupValues)],
    ['alert', ALERT_COLUMNS, alerts.map((alert) => alertValues(newId(), alert))],
  ]
}

function alertValues(id: string, alert: PastAlert): readonly Value[] {
  const { rule, raisedAtS, sinceS, urgency, evidence, overAtS, overWhy, seenAtS } = alert
  return [id, rule, raisedAtS, sinceS, urgency, JSON.stringify(evidence), overAtS, overWhy, seenAtS]
}
