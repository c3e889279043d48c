/** Everything a rig ever said, a page at a time: constant memory whatever the history. */
import type { Rollup } from '../../core/fold/outputs.ts'
import type { Reading } from '../../core/fold/inputs.ts'
import { EXPORT_PAGE_ROWS } from '../../core/limits.ts'
import type { ExportStore } from '../../flows/ports.ts'
import { ROLLUP_VALUES, rollupOf, type RollupRecord } from './rollup-row.ts'
import { READING_COLUMNS, readingOf, type ReadingRecord } from './reading-row.ts'
import { rigKeyOf } from './rig-key.ts'

export function exportStore(db: D1Database): ExportStore {
  return { readings: (rig) => pagesOf(db, rig), rollups: (rig) => rollupPagesOf(db, rig) }
}

/** Each page begins after the last row of the one before, by the table's own order: no page reads what it does not give. */
async function* pagesOf(db: D1Database, rig: string): AsyncIterable<readonly Reading[]> {
  const rigKey = await rigKeyOf(db, rig)
  if (rigKey === null) return
  let after = { place: -1, atS: 0 }
  for (;;) {
    const { results } = await db
      .prepare(
        `SELECT ${READING_COLUMNS} FROM reading WHERE rig_id = ?1 AND (place, at_s) > (?2, ?3)
         ORDER BY place, at_s LIMIT ?4`,
      )
      .bind(rigKey, after.place, after.atS, EXPORT_PAGE_ROWS)
      .all<ReadingRecord>()
    if (results.length > 0) yield results.map(readingOf)
    const last = results.at(-1)
    if (last === undefined || results.length < EXPORT_PAGE_ROWS) return
    after = { place: last.place, atS: last.at_s }
  }
}

async function* rollupPagesOf(db: D1Database, rig: string): AsyncIterable<readonly Rollup[]> {
  const rigKey = await rigKeyOf(db, rig)
  if (rigKey === null) return
  let after = { place: -1, spanS: 0, fromS: 0 }
  for (;;) {
    const { results } = await db
      .prepare(
        `SELECT place, span_s, from_s, ${ROLLUP_VALUES.join(', ')} FROM rollup
         WHERE rig_id = ?1 AND (place, span_s, from_s) > (?2, ?3, ?4) ORDER BY place, span_s, from_s LIMIT ?5`,
      )
      .bind(rigKey, after.place, after.spanS, after.fromS, EXPORT_PAGE_ROWS)
      .all<RollupRecord>()
    if (results.length > 0) yield results.map(rollupOf)
    const last = results.at(-1)
    if (last === undefined || results.length < EXPORT_PAGE_ROWS) return
    after = { place: last.place, spanS: last.span_s, fromS: last.from_s }
  }
}
