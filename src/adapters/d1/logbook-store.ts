/** The logbook. A change that the analysis takes in goes with the mark that sends it back to before it. */
import { ID_ORDER_MAX, orderedId, orderOfId } from '../../core/ids/public-id.ts'
import { isForAnalysis } from '../../core/logbook/kinds.ts'
import type { LogbookStore, LogRow, Paged } from '../../flows/ports.ts'
import { readCursor, writeCursor } from './cursor.ts'
import { rewindStatements } from './rewind.ts'
import { rigKeyOf } from './rig-key.ts'
import type { Random } from './shard.ts'
import { parseStored } from './stored.ts'

export function logbookStore(db: D1Database, shard: number, random: Random): LogbookStore {
  return {
    ofRig: (rig, page) => listEntries(db, rig, page),
    add: (rig, entry) => addEntry(db, { rig, shard, random }, entry),
    change: (rig, entry, change) => changeEntry(db, { rig, entry }, change),
    remove: (rig, entry) => removeEntry(db, { rig, entry }),
  }
}

const COLUMNS = 'l.at_s, l.entry_id, l.what, l.detail, l.made_s, l.made_by'

export type LogRecord = {
  at_s: number
  entry_id: string
  what: string
  detail: string
  made_s: number
  made_by: string | null
}

export function logOf(row: LogRecord): LogRow {
  return {
    id: row.entry_id,
    atS: row.at_s,
    what: row.what,
    detail: parseStored<Record<string, string>>(row.detail),
    by: row.made_by,
    madeS: row.made_s,
  }
}

async function listEntries(
  db: D1Database,
  rig: string,
  page: Parameters<LogbookStore['ofRig']>[1],
): Promise<Paged<LogRow>> {
  const [beforeS, beforeId] = readCursor(page.after) ?? [Number.MAX_SAFE_INTEGER, '']
  const found = await db
    .prepare(
      `SELECT ${COLUMNS} FROM rig r JOIN logbook l ON l.rig_id = r.rig_id
       WHERE r.public_id = ?1 AND (l.at_s, l.entry_id) < (?2, ?3) AND l.at_s >= ?4 AND l.at_s < ?5
       ORDER BY l.at_s DESC, l.entry_id DESC LIMIT ?6`,
    )
    .bind(rig, beforeS, beforeId, page.fromS ?? 0, page.toS ?? Number.MAX_SAFE_INTEGER, page.limit + 1)
    .all<LogRecord>()
  const items = found.results.slice(0, page.limit).map(logOf)
  const last = items.at(-1)
  return { items, next: found.results.length > page.limit && last ? writeCursor([last.atS, last.id]) : null }
}

type NewEntry = Parameters<LogbookStore['add']>[1]

async function addEntry(
  db: D1Database,
  { rig, shard, random }: { readonly rig: string; readonly shard: number; readonly random: Random },
  entry: NewEntry,
): Promise<LogRow | null> {
  const rigKey = await rigKeyOf(db, rig)
  if (rigKey === null) return null
  const id = orderedId(shard, await orderOf(db, rigKey, entry), random)
  await db.batch([
    db
      .prepare(
        'INSERT INTO logbook (rig_id, at_s, entry_id, what, detail, made_s, made_by) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)',
      )
      .bind(rigKey, entry.atS, id, entry.what, JSON.stringify(entry.detail), entry.nowS, entry.by),
    ...rewindFor(db, rigKey, [entry]),
  ])
  return {
    id,
    atS: entry.atS,
    what: entry.what,
    detail: entry.detail,
    by: entry.by,
    madeS: entry.nowS,
  }
}

/** Of entries for one and the same time (people say times by the minute) the one made last is the last word. */
async function orderOf(db: D1Database, rigKey: number, { atS, nowS }: NewEntry): Promise<number> {
  const found = await db
    .prepare('SELECT max(entry_id) AS last FROM logbook WHERE rig_id = ?1 AND at_s = ?2')
    .bind(rigKey, atS)
    .first<{ last: string | null }>()
  const last = found?.last ?? null
  return last === null ? nowS : Math.min(ID_ORDER_MAX, Math.max(nowS, orderOfId(last) + 1))
}

type Where = { readonly rig: string; readonly entry: string }

async function findEntry(
  db: D1Database,
  { rig, entry }: Where,
): Promise<(LogRecord & { rig_id: number }) | null> {
  return db
    .prepare(
      `SELECT l.rig_id, ${COLUMNS} FROM logbook l JOIN rig r ON r.rig_id = l.rig_id
       WHERE l.entry_id = ?1 AND r.public_id = ?2`,
    )
    .bind(entry, rig)
    .first<LogRecord & { rig_id: number }>()
}

async function changeEntry(
  db: D1Database,
  where: Where,
  change: Parameters<LogbookStore['change']>[2],
): Promise<LogRow | null> {
  const found = await findEntry(db, where)
  if (found === null) return null
  const before = logOf(found)
  const after: LogRow = {
    ...before,
    atS: change.atS ?? before.atS,
    what: change.what ?? before.what,
    detail: change.detail ?? before.detail,
  }
  await db.batch([
    db
      .prepare('UPDATE logbook SET at_s = ?2, what = ?3, detail = ?4 WHERE entry_id = ?1')
      .bind(where.entry, after.atS, after.what, JSON.stringify(after.detail)),
    ...rewindFor(db, found.rig_id, [before, after]),
  ])
  return after
}

async function removeEntry(db: D1Database, where: Where): Promise<boolean> {
  const found = await findEntry(db, where)
  if (found === null) return false
  await db.batch([
    db.prepare('DELETE FROM logbook WHERE entry_id = ?1').bind(where.entry),
    ...rewindFor(db, found.rig_id, [logOf(found)]),
  ])
  return true
}

function rewindFor(
  db: D1Database,
  rigKey: number,
  entries: readonly Pick<LogRow, 'atS' | 'what'>[],
): D1PreparedStatement[] {
  const times = entries.filter(({ what }) => isForAnalysis(what)).map(({ atS }) => atS)
  return times.length === 0 ? [] : rewindStatements(db, rigKey, Math.min(...times))
}
