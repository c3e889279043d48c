/** Loading for the scheduled check: memories, checkpoints and what is new since. */
import type { LogEntry } from '../../core/fold/inputs.ts'
import { PLACES } from '../../core/fold/inputs.ts'
import { SHORT_SPAN_S } from '../../core/limits.ts'
import { readRigFile } from '../../core/rig-file/rig-file.ts'
import type { KnownAlert } from '../../core/schedule/project-alerts.ts'
import type { CheckStore, Checkpoint, InputSpan, RigInputs, RigMemory } from '../../flows/check-ports.ts'
import { writeSteps } from './check-write.ts'
import { readingOf } from './reading-row.ts'
import type { ReadingRecord } from './reading-row.ts'
import type { Random } from './shard.ts'
import { parseStored, rowsOf } from './stored.ts'

export function checkStore(db: D1Database, shard: number, random: Random): CheckStore {
  return {
    dueRigs: async (afterKey, limit, nowS) => {
      const found = await db
        .prepare(
          `SELECT rig_id FROM memory WHERE rig_id > ?1 AND (set_back_until_s IS NULL OR set_back_until_s <= ?3)
           ORDER BY rig_id LIMIT ?2`,
        )
        .bind(afterKey, limit, nowS)
        .all<{ rig_id: number }>()
      return found.results.map((row) => row.rig_id)
    },
    memories: (rigKeys, nowS) => memoriesOf(db, rigKeys, nowS),
    checkpointBefore: (rigKey, version, beforeS) => checkpointBefore(db, { rigKey, version, beforeS }),
    firstReadingS: (rigKeys) => firstReadingS(db, rigKeys),
    inputs: (spans) => inputsOf(db, spans),
    openAlerts: (rigKey) => openAlerts(db, rigKey),
    writeSteps: (steps, token) => writeSteps(db, { steps, token, shard, random }),
    setBack: async (rigKey, untilS, failure) => {
      await db
        .prepare(
          'UPDATE memory SET set_back_until_s = ?2, failures = failures + 1, failure = ?3 WHERE rig_id = ?1',
        )
        .bind(rigKey, untilS, failure)
        .run()
    },
    finishTick: async ({ checkedS, behind }) => {
      await db
        .prepare('UPDATE schedule SET checked_s = max(checked_s, ?1), behind = ?2 WHERE one = 1')
        .bind(checkedS, behind)
        .run()
    },
  }
}

type MemoryRecord = {
  rig_id: number
  seq: number
  version: number
  grid_s: number
  reached_s: number
  rewind_from_s: number | null
  body: string | null
}

async function memoriesOf(
  db: D1Database,
  rigKeys: readonly number[],
  nowS: number,
): Promise<readonly RigMemory[]> {
  const found = await db
    .prepare(
      `SELECT m.rig_id, m.seq, m.version, m.grid_s, m.reached_s, m.rewind_from_s, m.body
       FROM json_each(?1) j CROSS JOIN memory m
       WHERE m.rig_id = j.value AND (m.set_back_until_s IS NULL OR m.set_back_until_s <= ?2)`,
    )
    .bind(JSON.stringify(rigKeys), nowS)
    .all<MemoryRecord>()
  return found.results.map((row) => ({
    rigKey: row.rig_id,
    seq: row.seq,
    version: row.version,
    gridS: row.grid_s,
    reachedS: row.reached_s,
    rewindFromS: row.rewind_from_s,
    body: row.body,
  }))
}

async function checkpointBefore(
  db: D1Database,
  ask: { readonly rigKey: number; readonly version: number; readonly beforeS: number },
): Promise<Checkpoint | null> {
  const row = await db
    .prepare(
      `SELECT grid_s, body FROM checkpoint WHERE rig_id = ?1 AND grid_s < ?2 AND version = ?3
       ORDER BY grid_s DESC LIMIT 1`,
    )
    .bind(ask.rigKey, ask.beforeS, ask.version)
    .first<{ grid_s: number; body: string }>()
  return row === null ? null : { gridS: row.grid_s, body: row.body }
}

/** One seek a place. */
async function firstReadingS(
  db: D1Database,
  rigKeys: readonly number[],
): Promise<ReadonlyMap<number, number>> {
  const found = await db
    .prepare(
      `SELECT j.value AS rig_id, min(
         coalesce((SELECT at_s FROM reading WHERE rig_id = j.value AND place = 0 ORDER BY at_s LIMIT 1), ?2),
         coalesce((SELECT at_s FROM reading WHERE rig_id = j.value AND place = 1 ORDER BY at_s LIMIT 1), ?2),
         coalesce((SELECT at_s FROM reading WHERE rig_id = j.value AND place = 2 ORDER BY at_s LIMIT 1), ?2),
         coalesce((SELECT at_s FROM reading WHERE rig_id = j.value AND place = 3 ORDER BY at_s LIMIT 1), ?2)) AS at_s
       FROM json_each(?1) j`,
    )
    .bind(JSON.stringify(rigKeys), NEVER_S)
    .all<{ rig_id: number; at_s: number }>()
  return new Map(found.results.filter((row) => row.at_s < NEVER_S).map((row) => [row.rig_id, row.at_s]))
}

const NEVER_S = Number.MAX_SAFE_INTEGER

/** The readings of one place within each span. */
const READINGS = `
  SELECT j.value ->> 0 AS rig_id, r.place, r.at_s, r.humidity_centi_pct, r.temp_centi_c, r.pump_on, r.power_deci_w
  FROM json_each(?1) j CROSS JOIN reading r
  WHERE r.rig_id = j.value ->> 0 AND r.place = j.value ->> 4 AND r.at_s > j.value ->> 1 AND r.at_s <= j.value ->> 2`

/** Of a long span the oldest of each place, at most so many: rows read are bounded by what is returned. */
const LONG_READINGS = [0, 1, 2, 3]
  .map(
    (place) => `
  SELECT * FROM (
    SELECT rig_id, place, at_s, humidity_centi_pct, temp_centi_c, pump_on, power_deci_w FROM reading
    WHERE rig_id = ?1 AND place = ${place} AND at_s > ?2 AND at_s <= ?3 ORDER BY at_s LIMIT ?4)`,
  )
  .join(' UNION ALL ')

const LOG = `
  SELECT l.rig_id, l.at_s, l.what, l.detail FROM json_each(?1) j CROSS JOIN logbook l
  WHERE l.rig_id = j.value ->> 0 AND l.at_s > j.value ->> 3 AND l.at_s <= j.value ->> 2
  ORDER BY l.rig_id, l.at_s, l.entry_id`

const SETTINGS = `
  SELECT t.rig_id, t.from_s, t.settings FROM json_each(?1) j CROSS JOIN rig_settings t
  WHERE t.rig_id = j.value ->> 0 AND t.from_s > j.value ->> 3 AND t.from_s <= j.value ->> 2
  ORDER BY t.rig_id, t.from_s`

type OwnedReading = ReadingRecord & { rig_id: number }
type OwnedEntry = { rig_id: number; at_s: number; what: string; detail: string }
type OwnedSettings = { rig_id: number; from_s: number; settings: string }

async function inputsOf(
  db: D1Database,
  spans: readonly InputSpan[],
): Promise<ReadonlyMap<number, () => RigInputs>> {
  const json = JSON.stringify(spans.map(arrayOf))
  const short = spans.filter(isShort).flatMap((span) => PLACES.map((_, place) => arrayOf(span).concat(place)))
  const long = spans.filter((span) => !isShort(span))
  const answers = await db.batch([
    db.prepare(LOG).bind(json),
    db.prepare(SETTINGS).bind(json),
    db.prepare(READINGS).bind(JSON.stringify(short)),
    ...long.map((span) =>
      db.prepare(LONG_READINGS).bind(span.rigKey, span.fromS, span.toS, span.readingsMax),
    ),
  ])
  const [log, settings, ...readings] = answers
  const readingsByRig = Map.groupBy(
    readings.flatMap((answer) => rowsOf<OwnedReading>(answer)),
    (row) => row.rig_id,
  )
  const logByRig = Map.groupBy(rowsOf<OwnedEntry>(log), (row) => row.rig_id)
  const settingsByRig = Map.groupBy(rowsOf<OwnedSettings>(settings), (row) => row.rig_id)
  return new Map(
    spans.map((span) => [
      span.rigKey,
      () =>
        inputsIn(span, {
          readings: readingsByRig.get(span.rigKey) ?? [],
          log: logByRig.get(span.rigKey) ?? [],
          settings: settingsByRig.get(span.rigKey) ?? [],
        }),
    ]),
  )
}

function isShort(span: InputSpan): boolean {
  return span.toS - span.fromS <= SHORT_SPAN_S
}

function arrayOf(span: InputSpan): readonly number[] {
  return [span.rigKey, span.fromS, span.toS, span.logFromS]
}

type SpanRows = {
  readonly readings: readonly OwnedReading[]
  readonly log: readonly OwnedEntry[]
  readonly settings: readonly OwnedSettings[]
}

function inputsIn(span: InputSpan, rows: SpanRows): RigInputs {
  const completeToS = isShort(span) ? span.toS : completeTo(span, rows.readings)
  return {
    completeToS,
    readings: rows.readings
      .filter((row) => row.at_s <= completeToS)
      .sort((a, b) => a.at_s - b.at_s || a.place - b.place)
      .map(readingOf),
    log: rows.log
      .filter((row) => row.at_s <= completeToS)
      .map((row): LogEntry => ({
        atS: row.at_s,
        what: row.what,
        detail: parseStored<Record<string, string>>(row.detail),
      })),
    settings: rows.settings
      .filter((row) => row.from_s <= completeToS)
      .map((row) => ({ fromS: row.from_s, settings: settingsOf(row) })),
  }
}

/** Where a place's readings were cut, the others may not go further either. */
function completeTo(span: InputSpan, readings: readonly OwnedReading[]): number {
  const byPlace = Map.groupBy(readings, (row) => row.place)
  let completeToS = span.toS
  for (const group of byPlace.values()) {
    const last = group.at(-1)
    if (last !== undefined && group.length >= span.readingsMax) completeToS = Math.min(completeToS, last.at_s)
  }
  return completeToS
}

function settingsOf(row: OwnedSettings) {
  const file = readRigFile(parseStored<unknown>(row.settings))
  if (!file.ok)
    throw new Error(`settings of rig ${row.rig_id} cannot be read: ${file.problems[0]?.pointer ?? ''}`)
  return file.settings
}

async function openAlerts(db: D1Database, rigKey: number): Promise<readonly KnownAlert[]> {
  const found = await db
    .prepare(
      `SELECT rule, raised_at_s, since_s, urgency, evidence FROM alert WHERE rig_id = ?1 AND over_at_s IS NULL
       ORDER BY raised_at_s`,
    )
    .bind(rigKey)
    .all<{
      rule: KnownAlert['rule']
      raised_at_s: number
      since_s: number
      urgency: KnownAlert['urgency']
      evidence: string
    }>()
  return found.results.map((row) => ({
    rule: row.rule,
    raisedAtS: row.raised_at_s,
    sinceS: row.since_s,
    urgency: row.urgency,
    evidence: parseStored<KnownAlert['evidence']>(row.evidence),
  }))
}
