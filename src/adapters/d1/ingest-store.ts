/** Taking readings in: one batch, so one round trip and one transaction. */
import { SURELY_FRESH_S } from '../../core/limits.ts'
import type { KeptReading } from '../../core/ingest/reading-record.ts'
import type {
  ExistingReading,
  IngestStore,
  ReplayRequest,
  ReplayResult,
  StoreRequest,
  StoreResult,
} from '../../flows/ingest-ports.ts'
import { loadConfig, loadConfigOf } from './source-config.ts'
import { keepPostStatements } from './post-store.ts'
import { rowsOf } from './stored.ts'

export function ingestStore(db: D1Database): IngestStore {
  return {
    load: (keyHash, count, nowS) => loadConfig(db, { keyHash, count, nowS }),
    loadOf: (source, nowS) => loadConfigOf(db, source, nowS),
    store: (request) => store(db, request),
    replay: (request) => replay(db, request),
    keepPost: async (sourceKey, post) => {
      await db.batch(keepPostStatements(db, sourceKey, post))
    },
  }
}

/** One row: clustered by the hash. Read again inside each write, so that a revoked key never stores anything. */
const KEY_CHECK = 'SELECT config_version FROM source_key WHERE key_hash = ?1 AND revoked_s IS NULL'
/** The mark that a replay leaves on its post, in the same batch: what follows belongs to the one that won. */
const TOKEN_CHECK = 'SELECT replay_token FROM post WHERE public_id = ?1'

const FOUND = 'r.rig_id, r.place, r.at_s, r.humidity_centi_pct, r.temp_centi_c, r.pump_on, r.power_deci_w'

/** Seeks each identity: rows read do not depend on how much is stored. */
const EXISTING = `
  SELECT ${FOUND} FROM json_each(?1) j CROSS JOIN reading r
  WHERE r.rig_id = j.value ->> 0 AND r.place = j.value ->> 1 AND r.at_s = j.value ->> 2`

/** The same for one rig and place: a bare list of times is read in half the time, and hubs post few series. */
const EXISTING_IN_SERIES = `
  SELECT ${FOUND} FROM json_each(?1) j CROSS JOIN reading r
  WHERE r.rig_id = ?2 AND r.place = ?3 AND r.at_s = j.value`
/** A statement each up to here; a post of more series asks in one. */
const SERIES_MAX = 6

/**
 * Readings that the analysis has passed, or may be passing at this moment, set the mark to go back to: the oldest of
 * each rig in the post, if at least one of them is new or fills something. Decided before the insert, and looked into
 * no further than to the first such reading: hubs that repeat old values cost no write.
 */
const markLate = (check: string): string => `
  UPDATE memory SET rewind_from_s = late.value ->> 1
  FROM json_each(?2) late
  WHERE memory.rig_id = late.value ->> 0
    AND late.value ->> 1 <= max(memory.grid_s, ?4)
    AND (memory.rewind_from_s IS NULL OR memory.rewind_from_s > late.value ->> 1)
    AND (${check}) = ?3
    AND EXISTS (${isNews("json_each(late.value, '$[2]')")})`

/** The same for a post about one rig: `?2` its old readings as they are, `?5` the rig, `?6` the oldest. */
const markLateOf = (check: string): string => `
  UPDATE memory SET rewind_from_s = ?6
  WHERE rig_id = ?5 AND ?6 <= max(grid_s, ?4) AND (rewind_from_s IS NULL OR rewind_from_s > ?6)
    AND (${check}) = ?3
    AND EXISTS (${isNews('json_each(?2)')})`

function isNews(readings: string): string {
  return `
      SELECT 1 FROM ${readings} j
      LEFT JOIN reading r ON r.rig_id = j.value ->> 0 AND r.place = j.value ->> 1 AND r.at_s = j.value ->> 2
      WHERE r.rig_id IS NULL
        OR (r.humidity_centi_pct IS NULL AND j.value ->> 3 IS NOT NULL)
        OR (r.temp_centi_c IS NULL AND j.value ->> 4 IS NOT NULL)
        OR (r.pump_on IS NULL AND j.value ->> 5 IS NOT NULL)
        OR (r.power_deci_w IS NULL AND j.value ->> 6 IS NOT NULL)`
}

/** The first value at an instant stays; missing ones are filled; one that differs leaves the row as it is. */
const insert = (check: string): string => `
  INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct, temp_centi_c, pump_on, power_deci_w)
  SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4, value ->> 5, value ->> 6
  FROM json_each(?2)
  WHERE (${check}) = ?3
  ON CONFLICT (rig_id, place, at_s) DO UPDATE SET
    humidity_centi_pct = coalesce(humidity_centi_pct, excluded.humidity_centi_pct),
    temp_centi_c = coalesce(temp_centi_c, excluded.temp_centi_c),
    pump_on = coalesce(pump_on, excluded.pump_on),
    power_deci_w = coalesce(power_deci_w, excluded.power_deci_w)
  WHERE (humidity_centi_pct IS NULL OR excluded.humidity_centi_pct IS NULL OR humidity_centi_pct = excluded.humidity_centi_pct)
    AND (temp_centi_c IS NULL OR excluded.temp_centi_c IS NULL OR temp_centi_c = excluded.temp_centi_c)
    AND (pump_on IS NULL OR excluded.pump_on IS NULL OR pump_on = excluded.pump_on)
    AND (power_deci_w IS NULL OR excluded.power_deci_w IS NULL OR power_deci_w = excluded.power_deci_w)
    AND ((humidity_centi_pct IS NULL AND excluded.humidity_centi_pct IS NOT NULL)
      OR (temp_centi_c IS NULL AND excluded.temp_centi_c IS NOT NULL)
      OR (pump_on IS NULL AND excluded.pump_on IS NOT NULL)
      OR (power_deci_w IS NULL AND excluded.power_deci_w IS NOT NULL))`

async function store(db: D1Database, request: StoreRequest): Promise<StoreResult> {
  const { keyHash, version, keep } = request
  const statements = [
    db.prepare(KEY_CHECK).bind(keyHash),
    ...readingStatements(db, request, { check: KEY_CHECK, of: keyHash, is: version }),
  ]
  if (keep !== null) statements.push(...keepPostStatements(db, request.sourceKey, keep, { keyHash, version }))
  const [key, ...rest] = await db.batch(statements)
  const [found] = rowsOf<{ config_version: number }>(key)
  if (found === undefined) return { kind: 'revoked' }
  if (found.config_version !== version) return { kind: 'stale' }
  return { kind: 'stored', existing: existingIn(rest) }
}

/** A post that is still in parts set aside stays open: what it stores twice is a repeat, by the readings' identity. */
const CLAIM = `
  UPDATE post SET replay_token = ?2, result = ?3, replayed_s = CASE WHEN ?4 THEN ?5 END
  WHERE public_id = ?1 AND replayed_s IS NULL`

async function replay(db: D1Database, request: ReplayRequest): Promise<ReplayResult> {
  const { post, token, nowS } = request
  const [claim, ...rest] = await db.batch([
    db.prepare(CLAIM).bind(post, token, JSON.stringify(request.result), request.isWhole ? 1 : 0, nowS),
    ...readingStatements(db, request, { check: TOKEN_CHECK, of: post, is: token }),
  ])
  if (claim?.meta.changes !== 1) return { kind: 'replayed_before' }
  return { kind: 'stored', existing: existingIn(rest) }
}

/** What the selects gave; the statements that write give no rows. */
function existingIn(results: readonly D1Result[]): readonly ExistingReading[] {
  return results.flatMap((result) => rowsOf<ReadingRow>(result).map(existingOf))
}

type Guard = { readonly check: string; readonly of: string; readonly is: string | number }

/** What is there of these identities, the mark for late ones, and the insert. */
function readingStatements(
  db: D1Database,
  { readings, nowS }: { readonly readings: readonly KeptReading[]; readonly nowS: number },
  { check, of, is }: Guard,
): D1PreparedStatement[] {
  const rows = JSON.stringify(readings.map(rowOf))
  const mayBeLateUpToS = nowS - SURELY_FRESH_S
  const old = readings.filter((reading) => reading.atS <= mayBeLateUpToS)
  const oldRows = old.length === readings.length ? rows : JSON.stringify(old.map(rowOf))
  return [
    ...existingStatements(db, readings, rows),
    ...(old.length === 0 ? [] : [lateStatement(db, { old, oldRows, mayBeLateUpToS }, { check, of, is })]),
    db.prepare(insert(check)).bind(of, rows, is),
  ]
}

function existingStatements(
  db: D1Database,
  readings: readonly KeptReading[],
  rows: string,
): D1PreparedStatement[] {
  const series = Map.groupBy(readings, ({ rigKey, place }) => rigKey * 4 + place)
  if (series.size > SERIES_MAX) return [db.prepare(EXISTING).bind(rows)]
  return Array.from(series.values(), (each) => {
    const times = JSON.stringify(each.map(({ atS }) => atS))
    return db.prepare(EXISTING_IN_SERIES).bind(times, each[0]?.rigKey ?? 0, each[0]?.place ?? 0)
  })
}

type Late = {
  readonly old: readonly KeptReading[]
  readonly oldRows: string
  readonly mayBeLateUpToS: number
}

function lateStatement(
  db: D1Database,
  { old, oldRows, mayBeLateUpToS }: Late,
  { check, of, is }: Guard,
): D1PreparedStatement {
  const groups = byRig(old)
  const [only] = groups
  return groups.length === 1 && only !== undefined
    ? db.prepare(markLateOf(check)).bind(of, oldRows, is, mayBeLateUpToS, only[0], only[1])
    : db.prepare(markLate(check)).bind(of, JSON.stringify(groups), is, mayBeLateUpToS)
}

/** `[rig, oldest, rows]` for each rig. */
function byRig(readings: readonly KeptReading[]): readonly (readonly unknown[])[] {
  const groups = Map.groupBy(readings, (reading) => reading.rigKey)
  return Array.from(groups, ([rigKey, group]) => [
    rigKey,
    group.reduce((oldestS, reading) => Math.min(oldestS, reading.atS), Number.POSITIVE_INFINITY),
    group.map(rowOf),
  ])
}

function rowOf(reading: KeptReading): readonly (number | null)[] {
  return [
    reading.rigKey,
    reading.place,
    reading.atS,
    reading.humidityCentiPct,
    reading.tempCentiC,
    reading.pumpOn,
    reading.powerDeciW,
  ]
}

type ReadingRow = {
  rig_id: number
  place: 0 | 1 | 2 | 3
  at_s: number
  humidity_centi_pct: number | null
  temp_centi_c: number | null
  pump_on: 0 | 1 | null
  power_deci_w: number | null
}

function existingOf(row: ReadingRow): ExistingReading {
  return {
    rigKey: row.rig_id,
    place: row.place,
    atS: row.at_s,
    humidityCentiPct: row.humidity_centi_pct,
    tempCentiC: row.temp_centi_c,
    pumpOn: row.pump_on,
    powerDeciW: row.power_deci_w,
  }
}
