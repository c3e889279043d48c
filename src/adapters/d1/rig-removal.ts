/** A rig goes in bounded steps; with the first it is gone for everyone. */
import type { RigStore } from '../../flows/ports.ts'
import { rigKeyOf } from './rig-key.ts'

export const LEAVING = `
  SELECT public_id FROM rig WHERE deleting_at_s IS NOT NULL AND (?1 IS NULL OR hangar = ?1)
  ORDER BY deleting_at_s LIMIT ?2`

/** In this order no row ever points to one that is gone. */
const RIG_TABLES = [
  'reading',
  'rollup',
  'alert_event',
  'alert',
  'cycle',
  'fill',
  'exposure_day',
  'checkpoint',
  'logbook',
  'rig_settings',
  'source_rig',
  'memory',
] as const

/** The primary key of each table, to delete a bounded number of rows by. */
const KEY_COLUMNS: Readonly<Record<(typeof RIG_TABLES)[number], string>> = {
  reading: 'rig_id, place, at_s',
  rollup: 'rig_id, place, span_s, from_s',
  alert_event: 'rig_id, rule, raised_at_s, at_s, event',
  alert: 'alert_id',
  cycle: 'rig_id, at_s',
  fill: 'rig_id, from_s',
  exposure_day: 'rig_id, from_s',
  checkpoint: 'rig_id, grid_s',
  logbook: 'rig_id, at_s, entry_id',
  rig_settings: 'rig_id, from_s',
  source_rig: 'source_id, rig_id',
  memory: 'rig_id',
}

/**
 * Out of sight, before anything is removed: with its sources' links and their cached copies gone no post reaches it, with
 * its memory gone no check does, and its slug is free for another rig.
 */
async function hide(db: D1Database, rig: number, nowS: number): Promise<number> {
  const [, , ...removed] = await db.batch([
    db
      .prepare(
        'UPDATE rig SET deleting_at_s = ?2, slug = public_id WHERE rig_id = ?1 AND deleting_at_s IS NULL',
      )
      .bind(rig, nowS),
    db
      .prepare(
        `UPDATE source_key SET config_version = config_version + 1
         WHERE source_id IN (SELECT source_id FROM source_rig WHERE rig_id = ?1)`,
      )
      .bind(rig),
    db.prepare('DELETE FROM source_rig WHERE rig_id = ?1').bind(rig),
    db.prepare('DELETE FROM memory WHERE rig_id = ?1').bind(rig),
  ])
  return removed.reduce((sum, { meta }) => sum + meta.changes, 0)
}

type Ask = { readonly id: string; readonly budget: number; readonly nowS: number }

export async function removeRigStep(
  db: D1Database,
  { id, budget, nowS }: Ask,
): ReturnType<RigStore['removeStep']> {
  const rig = await rigKeyOf(db, id)
  if (rig === null) return { isDone: true, removed: 0 }
  let removed = await hide(db, rig, nowS)
  for (const table of RIG_TABLES) {
    if (removed >= budget) return { isDone: false, removed }
    const columns = KEY_COLUMNS[table]
    const done = await db
      .prepare(
        `DELETE FROM ${table} WHERE (${columns}) IN (SELECT ${columns} FROM ${table} WHERE rig_id = ?1 LIMIT ?2)`,
      )
      .bind(rig, budget - removed)
      .run()
    removed += done.meta.changes
  }
  if (removed >= budget) return { isDone: false, removed }
  await db.prepare('DELETE FROM rig WHERE rig_id = ?1').bind(rig).run()
  return { isDone: true, removed: removed + 1 }
}
