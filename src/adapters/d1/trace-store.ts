/** Reading back: traces from readings or rollups by span, cycles, fills, exposure, and what the analysis holds. */
import type { Cycle, ExposureDay, Fill, Rollup } from '../../core/fold/outputs.ts'
import { PLACES } from '../../core/fold/inputs.ts'
import type { Page, Paged, TraceStore } from '../../flows/ports.ts'
import { readCursor, writeCursor } from './cursor.ts'
import { rigKeyOf } from './rig-key.ts'
import { rollupOf } from './rollup-row.ts'
import type { RollupRecord } from './rollup-row.ts'
import { READING_COLUMNS, readingOf } from './reading-row.ts'
import type { ReadingRecord } from './reading-row.ts'
import { parseStored, rowsOf } from './stored.ts'
import { readTrace } from './trace-read.ts'

export function traceStore(db: D1Database): TraceStore {
  return {
    trace: (rig, span) => readTrace(db, rig, span),
    cycles: (rig, page) => cyclesOf(db, rig, page),
    fills: async (rig) => {
      const found = await db
        .prepare(
          `SELECT f.body FROM rig r JOIN fill f ON f.rig_id = r.rig_id WHERE r.public_id = ?1 ORDER BY f.from_s DESC`,
        )
        .bind(rig)
        .all<{ body: string }>()
      return found.results.map((row) => parseStored<Fill>(row.body))
    },
    exposure: (rig, span) => exposureOf(db, rig, span),
    rollups: async (rig, span) => {
      const found = await db
        .prepare(
          `SELECT u.* FROM rig r JOIN rollup u ON u.rig_id = r.rig_id
           WHERE r.public_id = ?1 AND u.place = ?2 AND u.span_s = ?3 AND u.from_s >= ?4 AND u.from_s < ?5 ORDER BY u.from_s`,
        )
        .bind(rig, PLACES.indexOf(span.place), span.spanS, span.fromS, span.toS)
        .all<RollupRecord>()
      return found.results.map((row): Rollup => rollupOf(row))
    },
    latest: async (rig) => {
      const rigKey = await rigKeyOf(db, rig)
      if (rigKey === null) return []
      const answers = await db.batch(
        PLACES.map((_, place) =>
          db
            .prepare(
              `SELECT ${READING_COLUMNS} FROM reading WHERE rig_id = ?1 AND place = ?2 ORDER BY at_s DESC LIMIT 1`,
            )
            .bind(rigKey, place),
        ),
      )
      return answers.flatMap((answer) => rowsOf<ReadingRecord>(answer).map(readingOf))
    },
    memory: (rig) => memoryOf(db, rig),
  }
}

async function cyclesOf(db: D1Database, rig: string, page: Page): Promise<Paged<Cycle>> {
  const [beforeS] = readCursor(page.after) ?? [Number.MAX_SAFE_INTEGER]
  const found = await db
    .prepare(
      `SELECT c.at_s, c.body FROM rig r JOIN cycle c ON c.rig_id = r.rig_id
       WHERE r.public_id = ?1 AND c.at_s < ?2 ORDER BY c.at_s DESC LIMIT ?3`,
    )
    .bind(rig, beforeS, page.limit + 1)
    .all<{ at_s: number; body: string }>()
  const shown = found.results.slice(0, page.limit)
  const last = shown.at(-1)
  return {
    items: shown.map((row) => parseStored<Cycle>(row.body)),
    next: found.results.length > page.limit && last ? writeCursor([last.at_s, '']) : null,
  }
}

async function exposureOf(
  db: D1Database,
  rig: string,
  span: { readonly fromS: number; readonly toS: number },
): ReturnType<TraceStore['exposure']> {
  const [days, last] = await db.batch([
    db
      .prepare(
        `SELECT e.body FROM rig r JOIN exposure_day e ON e.rig_id = r.rig_id
         WHERE r.public_id = ?1 AND e.from_s >= ?2 AND e.from_s < ?3 ORDER BY e.from_s`,
      )
      .bind(rig, span.fromS, span.toS),
    db
      .prepare(
        `SELECT e.from_s FROM rig r JOIN exposure_day e ON e.rig_id = r.rig_id
         WHERE r.public_id = ?1 ORDER BY e.from_s DESC LIMIT 1`,
      )
      .bind(rig),
  ])
  return {
    days: rowsOf<{ body: string }>(days).map((row) => parseStored<ExposureDay>(row.body)),
    lastS: rowsOf<{ from_s: number }>(last)[0]?.from_s ?? null,
  }
}

async function memoryOf(db: D1Database, rig: string): ReturnType<TraceStore['memory']> {
  const row = await db
    .prepare(
      `SELECT m.grid_s, m.reached_s, m.readings_from_s, m.rewind_from_s, m.set_back_until_s, m.body
       FROM rig r JOIN memory m ON m.rig_id = r.rig_id WHERE r.public_id = ?1`,
    )
    .bind(rig)
    .first<{
      grid_s: number
      reached_s: number
      readings_from_s: number
      rewind_from_s: number | null
      set_back_until_s: number | null
      body: string | null
    }>()
  if (row === null) return null
  return {
    gridS: row.grid_s,
    reachedS: row.reached_s,
    readingsFromS: row.readings_from_s,
    rewindFromS: row.rewind_from_s,
    setBackUntilS: row.set_back_until_s,
    body: row.body,
  }
}
