/**
 * The points of a trace: readings while there are few, else hourly rollups, else daily ones. Rows read are bounded
 * whatever the span: TRACE_ROWS_MAX in all.
 */
import type { Cycle } from '../../core/fold/outputs.ts'
import { PLACES } from '../../core/fold/inputs.ts'
import { TRACE_RAW_MAX, TRACE_RAW_SPAN_MAX_S, TRACE_ROWS_MAX, TRACE_RUNS_MAX } from '../../core/limits.ts'
import { gapMaxS, gapsIn, outside, runsIn } from '../../core/strip/stretches.ts'
import type { Stretch } from '../../core/strip/stretches.ts'
import { thin } from '../../core/strip/thin.ts'
import type { StripPoint } from '../../core/strip/thin.ts'
import type { Trace } from '../../flows/ports.ts'
import { logOf } from './logbook-store.ts'
import type { LogRecord } from './logbook-store.ts'
import { placeOf, READING_COLUMNS, readingOf } from './reading-row.ts'
import type { ReadingRecord } from './reading-row.ts'
import { rigKeyOf } from './rig-key.ts'
import { parseStored, rowsOf } from './stored.ts'

type Span = { readonly fromS: number; readonly toS: number; readonly points: number }

/** Points of one place before thinning, and the pump reports among them. */
type Series = {
  readonly place: number
  readonly points: readonly StripPoint[]
  readonly reports: readonly { readonly atS: number; readonly pumpOn: boolean | null }[]
}

type Read = { readonly basis: Trace['basis']; readonly series: readonly Series[]; readonly rows: number }

const HOUR_S = 3600
const DAY_S = 86_400
const MARKS_MAX = 100

export async function readTrace(db: D1Database, rig: string, span: Span): Promise<Trace | null> {
  const rigKey = await rigKeyOf(db, rig)
  if (rigKey === null) return null
  const read = (await readRaw(db, rigKey, span)) ?? (await readRollups(db, rigKey, span))
  const runsMax = Math.max(0, Math.min(TRACE_RUNS_MAX, TRACE_ROWS_MAX - read.rows - MARKS_MAX))
  const [cycles, marks] = await db.batch([
    db
      .prepare(
        'SELECT at_s, body FROM cycle WHERE rig_id = ?1 AND at_s > ?2 AND at_s <= ?3 ORDER BY at_s DESC LIMIT ?4',
      )
      .bind(rigKey, span.fromS, span.toS + LONGEST_CYCLE_S, runsMax),
    db
      .prepare(
        `SELECT at_s, entry_id, what, detail, made_s, made_by FROM logbook l
         WHERE rig_id = ?1 AND at_s >= ?2 AND at_s < ?3 ORDER BY at_s DESC LIMIT ?4`,
      )
      .bind(rigKey, span.fromS, span.toS, MARKS_MAX),
  ])
  const timesS = timesOf(read)
  const longestS = read.basis === 'readings' ? gapMaxS(timesS, 300) : widthOf(read.basis) * 1.5
  return {
    basis: read.basis,
    series: read.series.map(({ place, points }) => ({
      place: placeOf(place),
      points: thin(points, { fromS: span.fromS, toS: span.toS, pointsMax: span.points }),
    })),
    gaps: timesS.length === 0 ? [{ fromS: span.fromS, toS: span.toS }] : gapsIn(timesS, span, longestS),
    runs: runsOf(rowsOf<CycleRecord>(cycles), read, { span, longestS }),
    marks: rowsOf<LogRecord>(marks).map(logOf).toReversed(),
  }
}

/** The pump rests for weeks in a well-sealed engine: how long after the span a cycle that began in it may end. */
const LONGEST_CYCLE_S = 60 * DAY_S

/** A rollup stands for its whole hour or day: the next one ends the gap only if it is the next. */
function widthOf(basis: Trace['basis']): number {
  return basis === 'days' ? DAY_S : HOUR_S
}

/** Times of the return sensor, or of whatever place there is. */
function timesOf(read: Read): readonly number[] {
  return (
    (read.series.find((series) => series.place === 0) ?? read.series[0])?.points.map((point) => point.atS) ??
    []
  )
}

type CycleRecord = { at_s: number; body: string }

/** Closed cycles, and what the readings report beside them: a run after a flight or a gap belongs to no cycle, and the last is still open. */
function runsOf(
  rows: readonly CycleRecord[],
  read: Read,
  within: { readonly span: Stretch; readonly longestS: number },
): Trace['runs'] {
  const { span, longestS } = within
  const closed = rows.map((row) => parseStored<Cycle>(row.body)).toReversed()
  const runs = closed.map(({ runFromS, runToS, basis }) => ({ fromS: runFromS, toS: runToS, basis }))
  const reports = read.series.flatMap((series) => series.reports).sort((a, b) => a.atS - b.atS)
  const others = outside(runsIn(reports, longestS), runs).map(({ fromS, toS }) => ({
    fromS,
    toS,
    basis: 'reported' as const,
  }))
  return [...runs, ...others]
    .filter((run) => run.toS > span.fromS && run.fromS < span.toS)
    .sort((a, b) => a.fromS - b.fromS)
}

/** `null` when the span is long, holds too many readings, or they are gone. */
async function readRaw(db: D1Database, rigKey: number, span: Span): Promise<Read | null> {
  if (span.toS - span.fromS > TRACE_RAW_SPAN_MAX_S) return null
  const found = await rawRows(db, { rigKey, fromS: span.fromS, toS: span.toS, limit: TRACE_RAW_MAX + 1 })
  if (found.length > TRACE_RAW_MAX || found.length === 0) return null
  return { basis: 'readings', rows: found.length, series: seriesOf(found) }
}

async function rawRows(
  db: D1Database,
  ask: { readonly rigKey: number; readonly fromS: number; readonly toS: number; readonly limit: number },
): Promise<readonly ReadingRecord[]> {
  const found = await db
    .prepare(
      `SELECT ${READING_COLUMNS} FROM reading
       WHERE rig_id = ?1 AND place IN (0, 1, 2, 3) AND at_s >= ?2 AND at_s < ?3 ORDER BY place, at_s LIMIT ?4`,
    )
    .bind(ask.rigKey, ask.fromS, ask.toS, ask.limit)
    .all<ReadingRecord>()
  return found.results
}

function seriesOf(rows: readonly ReadingRecord[]): readonly Series[] {
  const byPlace = Map.groupBy(rows, (row) => row.place)
  return Array.from(byPlace, ([place, group]) => {
    const readings = group.map(readingOf)
    return {
      place,
      points: readings.map(({ atS, humidityPct, tempC }) => ({
        atS,
        humidityPct,
        tempC,
        minPct: humidityPct,
        maxPct: humidityPct,
      })),
      reports: readings.filter((reading) => reading.pumpOn !== null),
    }
  })
}

/** Hours for the return sensor and, if they fit, for all; days for the rest. The youngest hours are still readings. */
async function readRollups(db: D1Database, rigKey: number, span: Span): Promise<Read> {
  const places = await placesOf(db, rigKey)
  const hours = Math.ceil((span.toS - span.fromS) / HOUR_S)
  const days = Math.ceil((span.toS - span.fromS) / DAY_S)
  const room = TRACE_ROWS_MAX - MARKS_MAX - RUNS_ROOM - TAIL_ROWS_MAX
  const isAllHours = hours * places.length <= room
  const isReturnHours = hours + days * (places.length - 1) <= room
  const spanOf = (place: number): number => (isAllHours || (isReturnHours && place === 0) ? HOUR_S : DAY_S)
  const answers =
    places.length === 0
      ? []
      : await db.batch(places.map((place) => rollupQuery(db, { rigKey, place, spanS: spanOf(place), span })))
  const series = answers.map((answer, index): Series => {
    const place = places[index] ?? 0
    return {
      place,
      points: rowsOf<PointRecord>(answer).map((row) => pointOf(row, spanOf(place))),
      reports: [],
    }
  })
  const rows = series.reduce((sum, one) => sum + one.points.length, 0)
  const closedToS = Math.max(
    span.fromS,
    ...series.map((one) => (one.points.at(-1)?.atS ?? span.fromS) + HOUR_S / 2),
  )
  const tail = await newestRows(db, { rigKey, places, fromS: closedToS, toS: span.toS })
  return {
    basis: isAllHours || isReturnHours ? 'hours' : 'days',
    rows: rows + tail.length,
    series: joined(series, seriesOf(tail)),
  }
}

/** The newest readings of each place, in order. */
async function newestRows(
  db: D1Database,
  ask: {
    readonly rigKey: number
    readonly places: readonly number[]
    readonly fromS: number
    readonly toS: number
  },
): Promise<readonly ReadingRecord[]> {
  if (ask.places.length === 0) return []
  const limit = Math.floor(TAIL_ROWS_MAX / ask.places.length)
  const newest = db.prepare(
    `SELECT ${READING_COLUMNS} FROM reading
     WHERE rig_id = ?1 AND place = ?2 AND at_s >= ?3 AND at_s < ?4 ORDER BY at_s DESC LIMIT ?5`,
  )
  const answers = await db.batch(
    ask.places.map((place) => newest.bind(ask.rigKey, place, ask.fromS, ask.toS, limit)),
  )
  return answers.flatMap((answer) => rowsOf<ReadingRecord>(answer).toReversed())
}

/** Runs that a year's strip should at least have room for. */
const RUNS_ROOM = 200
/** Readings younger than the last closed hour, of all places: two hours and the settling time, one a minute, at two of them. */
const TAIL_ROWS_MAX = 300

/** Raw readings may be long gone where rollups remain. */
const PLACE_USED = `
  SELECT ?2 AS place WHERE EXISTS (SELECT 1 FROM reading WHERE rig_id = ?1 AND place = ?2)
    OR EXISTS (SELECT 1 FROM rollup WHERE rig_id = ?1 AND place = ?2)`

async function placesOf(db: D1Database, rigKey: number): Promise<readonly number[]> {
  const answers = await db.batch(PLACES.map((_, place) => db.prepare(PLACE_USED).bind(rigKey, place)))
  return answers.flatMap((answer) => rowsOf<{ place: number }>(answer).map((row) => row.place))
}

type PointRecord = {
  from_s: number
  humidity_mean_centi_pct: number | null
  humidity_min_centi_pct: number | null
  humidity_max_centi_pct: number | null
  temp_mean_centi_c: number | null
}

function rollupQuery(
  db: D1Database,
  ask: { readonly rigKey: number; readonly place: number; readonly spanS: number; readonly span: Span },
): D1PreparedStatement {
  return db
    .prepare(
      `SELECT from_s, humidity_mean_centi_pct, humidity_min_centi_pct, humidity_max_centi_pct, temp_mean_centi_c
       FROM rollup WHERE rig_id = ?1 AND place = ?2 AND span_s = ?3 AND from_s >= ?4 AND from_s < ?5 ORDER BY from_s`,
    )
    .bind(ask.rigKey, ask.place, ask.spanS, ask.span.fromS, ask.span.toS)
}

function pointOf(row: PointRecord, spanS: number): StripPoint {
  return {
    atS: row.from_s + spanS / 2,
    humidityPct: fromCenti(row.humidity_mean_centi_pct),
    tempC: fromCenti(row.temp_mean_centi_c),
    minPct: fromCenti(row.humidity_min_centi_pct),
    maxPct: fromCenti(row.humidity_max_centi_pct),
  }
}

function fromCenti(value: number | null): number | null {
  return value === null ? null : value / 100
}

function joined(closed: readonly Series[], tail: readonly Series[]): readonly Series[] {
  const places = [...new Set([...closed, ...tail].map((series) => series.place))].sort((a, b) => a - b)
  return places.map((place) => {
    const parts = [...closed, ...tail].filter((series) => series.place === place)
    return {
      place,
      points: parts.flatMap((part) => part.points),
      reports: parts.flatMap((part) => part.reports),
    }
  })
}
