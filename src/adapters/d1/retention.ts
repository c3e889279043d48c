/** Clears away raw readings and kept posts past their time, a few rigs a tick, so that no tick has much to do. */
import { POST_KEPT_DAYS, RAW_KEPT_DAYS } from '../../core/limits.ts'
import type { RetentionStore } from '../../flows/ports.ts'

const DAY_S = 86_400

export function retentionStore(db: D1Database): RetentionStore {
  return {
    clean: async (nowS, { rowsMax, rigsMax }) => {
      let removed = 0
      let done = null
      const { rigs, isNewRound } = await nextRigs(db, rigsMax)
      if (isNewRound) await db.prepare(POSTS_OF_NO_RIG).bind(postsBeforeS(nowS)).run()
      for (const rig of rigs) {
        removed += await cleanRig(db, rig, { nowS, rowsMax: rowsMax - removed })
        // Perhaps not to its end: the same rig is next again.
        if (removed >= rowsMax) break
        done = rig
      }
      if (done !== null)
        await db.prepare('UPDATE schedule SET retention_rig_id = ?1 WHERE one = 1').bind(done).run()
      return removed
    },
  }
}

/** Goes round: after the last rig comes the first. */
async function nextRigs(
  db: D1Database,
  rigsMax: number,
): Promise<{ readonly rigs: readonly number[]; readonly isNewRound: boolean }> {
  const after =
    (await db.prepare('SELECT retention_rig_id AS rig FROM schedule WHERE one = 1').first<number>('rig')) ?? 0
  const next = (from: number) =>
    db
      .prepare('SELECT rig_id FROM rig WHERE rig_id > ?1 ORDER BY rig_id LIMIT ?2')
      .bind(from, rigsMax)
      .all<{ rig_id: number }>()
  const { results } = await next(after)
  const found = results.length > 0 || after === 0 ? results : (await next(0)).results
  return { rigs: found.map((row) => row.rig_id), isNewRound: results.length === 0 }
}

/** A source that has lost its rigs is come to by none: once a round, since all sources are looked at. */
const POSTS_OF_NO_RIG = `
  DELETE FROM post WHERE at_s < ?1 AND source_id IN (
    SELECT s.source_id FROM source s
    WHERE NOT EXISTS (SELECT 1 FROM source_rig l WHERE l.source_id = s.source_id))`

function postsBeforeS(nowS: number): number {
  return nowS - POST_KEPT_DAYS * DAY_S
}

/**
 * By the table's own order at each place: nothing is read that is not removed. Rollups, cycles and alerts stay. What the
 * analysis has not passed, or is just going over again, is left to it; and it is told from when on all readings are there.
 */
async function cleanRig(
  db: D1Database,
  rig: number,
  { nowS, rowsMax }: { readonly nowS: number; readonly rowsMax: number },
): Promise<number> {
  const cutS = nowS - RAW_KEPT_DAYS * DAY_S
  const [readings] = await db.batch([
    db
      .prepare(
        `DELETE FROM reading WHERE (rig_id, place, at_s) IN (
           SELECT rig_id, place, at_s FROM reading
           WHERE rig_id = ?1 AND place IN (0, 1, 2, 3)
             AND at_s < min(?2, (SELECT grid_s FROM memory WHERE rig_id = ?1)) LIMIT ?3)`,
      )
      .bind(rig, cutS, rowsMax),
    db
      .prepare(
        `UPDATE memory SET readings_from_s = max(readings_from_s, min(?2, grid_s))
         WHERE changes() > 0 AND rig_id = ?1`,
      )
      .bind(rig, cutS),
    db
      .prepare(
        'DELETE FROM post WHERE at_s < ?2 AND source_id IN (SELECT source_id FROM source_rig WHERE rig_id = ?1)',
      )
      .bind(rig, postsBeforeS(nowS)),
  ])
  return readings?.meta.changes ?? 0
}
