/**
 * The statements that store readings. Each row travels to the database once: what follows an insert (the look at what it
 * left out, the mark for late readings) asks `changes()`, which SQLite counts for the last statement that wrote. So
 * nothing but a SELECT may stand between an insert and its mark.
 */
import { SURELY_FRESH_S } from '../../core/limits.ts'
import type { KeptReading, PlaceCode } from '../../core/ingest/reading-record.ts'
import type { HeldReading, Stored } from '../../flows/ingest-ports.ts'
import { lowerMark } from './rewind.ts'
import { rowsOf } from './stored.ts'

/** What must still hold inside the transaction: `check` is a SELECT of one value by `?1`, `is` what it has to give. */
export type Guard = { readonly check: string; readonly of: string; readonly is: string | number }

export type Insertion = {
  readonly statements: readonly D1PreparedStatement[]
  /** From the results of exactly those statements. */
  readonly read: (results: readonly D1Result[]) => Stored
}

type Request = { readonly readings: readonly KeptReading[]; readonly nowS: number }
type Step = { readonly is: 'insert' | 'look' | 'mark'; readonly statement: D1PreparedStatement }

/** Parts that a post is stored in, each by its own statements; one of more is stored in one go. */
const PARTS_MAX = 6

export function insertion(db: D1Database, { readings, nowS }: Request, guard: Guard): Insertion {
  const lateUpToS = nowS - SURELY_FRESH_S
  const parts = partsOf(readings, lateUpToS)
  const steps =
    parts.length > PARTS_MAX
      ? [...markMany(db, { readings, lateUpToS }, guard), ...storeMany(db, readings, guard)]
      : parts.flatMap((part) => storePart(db, part, guard).concat(markPart(db, part, lateUpToS)))
  return {
    statements: steps.map(({ statement }) => statement),
    read: (results) => {
      const of = (kind: Step['is']) => results.filter((_, at) => steps[at]?.is === kind)
      return {
        stored: of('insert').reduce((sum, { meta }) => sum + meta.changes, 0),
        held: of('look').flatMap((result) => rowsOf<ReadingRow>(result).map(heldOf)),
      }
    },
  }
}

/** Readings of one series, all of them surely fresh or none. */
type Part = {
  readonly rigKey: number
  readonly place: PlaceCode
  readonly readings: readonly KeptReading[]
  readonly oldestS: number
}

/** The same instant at the same place is always in one part, in the order of the post. */
function partsOf(readings: readonly KeptReading[], lateUpToS: number): readonly Part[] {
  const parts = new Map<number, Part & { oldestS: number; readings: KeptReading[] }>()
  for (const reading of readings) {
    const { rigKey, place, atS } = reading
    const key = rigKey * 8 + place * 2 + (atS <= lateUpToS ? 1 : 0)
    const part = parts.get(key)
    if (part === undefined) parts.set(key, { rigKey, place, readings: [reading], oldestS: atS })
    else {
      part.readings.push(reading)
      if (atS < part.oldestS) part.oldestS = atS
    }
  }
  return [...parts.values()]
}

const VALUES = ['humidity_centi_pct', 'temp_centi_c', 'pump_on', 'power_deci_w'] as const

type Given = (column: string, index: number) => string

/** True of a row that the values given do not contradict. */
function agrees(given: Given, row = ''): string {
  return VALUES.map((column, index) => {
    const value = given(column, index)
    return `(${row}${column} IS NULL OR ${value} IS NULL OR ${row}${column} = ${value})`
  }).join(' AND ')
}

/** True of a row that the values given fill and do not contradict. */
function fills(given: Given, row = ''): string {
  const adds = VALUES.map(
    (column, index) => `(${row}${column} IS NULL AND ${given(column, index)} IS NOT NULL)`,
  )
  return `${agrees(given, row)} AND (${adds.join(' OR ')})`
}

/** The first value at an instant stays; missing ones are filled; one that differs leaves the row as it is. */
const insert = (check: string, owner: string): string => `
  INSERT INTO reading (rig_id, place, at_s, ${VALUES.join(', ')})
  SELECT ${owner}, value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4
  FROM json_each(?2)
  WHERE (${check}) = ?3
  ON CONFLICT (rig_id, place, at_s) DO UPDATE SET
    ${VALUES.map((column) => `${column} = coalesce(${column}, excluded.${column})`).join(', ')}
  WHERE ${fills((column) => `excluded.${column}`)}`

/**
 * After the insert, and only if it left something out: what is there now of these identities. Seeks each, so rows read
 * do not depend on how much is stored.
 */
const LOOK = `
  SELECT r.rig_id, r.place, r.at_s, r.humidity_centi_pct, r.temp_centi_c, r.pump_on, r.power_deci_w
  FROM json_each(CASE WHEN changes() < ?2 THEN ?1 ELSE '[]' END) j CROSS JOIN reading r`

function storePart(db: D1Database, part: Part, { check, of, is }: Guard): readonly Step[] {
  const { rigKey, place, readings } = part
  const rows = JSON.stringify(readings.map(valuesOf))
  const times = JSON.stringify(readings.map(({ atS }) => atS))
  return [
    { is: 'insert', statement: db.prepare(insert(check, '?4, ?5')).bind(of, rows, is, rigKey, place) },
    {
      is: 'look',
      statement: db
        .prepare(`${LOOK} WHERE r.rig_id = ?3 AND r.place = ?4 AND r.at_s = j.value`)
        .bind(times, readings.length, rigKey, place),
    },
  ]
}

/** With rig and place in each row. */
function storeMany(
  db: D1Database,
  readings: readonly KeptReading[],
  { check, of, is }: Guard,
): readonly Step[] {
  const rows = ownedRows(readings)
  const identities = JSON.stringify(readings.map(({ rigKey, place, atS }) => [rigKey, place, atS]))
  return [
    { is: 'insert', statement: db.prepare(insert(check, 'value ->> 5, value ->> 6')).bind(of, rows, is) },
    {
      is: 'look',
      statement: db
        .prepare(
          `${LOOK} WHERE r.rig_id = j.value ->> 0 AND r.place = j.value ->> 1 AND r.at_s = j.value ->> 2`,
        )
        .bind(identities, readings.length),
    },
  ]
}

export function ownedRows(readings: readonly KeptReading[]): string {
  return JSON.stringify(readings.map((each) => [...valuesOf(each), each.rigKey, each.place]))
}

/** Given after an insert: true if one of its readings is not what is there now. `rows` is the parameter that holds `ownedRows`. */
export const hasConflict = (rows: string): string => `
  EXISTS (SELECT 1 FROM json_each(${rows}) j CROSS JOIN reading r
    WHERE r.rig_id = j.value ->> 5 AND r.place = j.value ->> 6 AND r.at_s = j.value ->> 0
      AND NOT (${agrees((_, index) => `j.value ->> ${index + 1}`, 'r.')}))`

function valuesOf(reading: KeptReading): readonly (number | null)[] {
  const { atS, humidityCentiPct, tempCentiC, pumpOn, powerDeciW } = reading
  return [atS, humidityCentiPct, tempCentiC, pumpOn, powerDeciW]
}

/**
 * Readings that the analysis has passed, or may be passing at this moment, set the mark to go back to: the oldest of
 * them, if at least one was new or filled something. Hubs that repeat old values cost no write.
 */
const MARK_PART = `
  UPDATE memory SET ${lowerMark('?2')}
  WHERE changes() > 0 AND rig_id = ?1 AND ?2 <= max(grid_s, ?3)`

function markPart(db: D1Database, { rigKey, oldestS }: Part, lateUpToS: number): readonly Step[] {
  if (oldestS > lateUpToS) return []
  return [{ is: 'mark', statement: db.prepare(MARK_PART).bind(rigKey, oldestS, lateUpToS) }]
}

/** The same for many rigs in one statement: which of them will have news is asked reading by reading, before the insert. */
const markRigs = (check: string): string => `
  UPDATE memory SET ${lowerMark('late.value ->> 1')}
  FROM json_each(?2) late
  WHERE memory.rig_id = late.value ->> 0
    AND late.value ->> 1 <= max(memory.grid_s, ?4)
    AND (${check}) = ?3
    AND EXISTS (
      SELECT 1 FROM json_each(late.value, '$[2]') j
      LEFT JOIN reading r ON r.rig_id = late.value ->> 0 AND r.place = j.value ->> 5 AND r.at_s = j.value ->> 0
      WHERE r.rig_id IS NULL OR (${fills((_, index) => `j.value ->> ${index + 1}`, 'r.')}))`

type Many = { readonly readings: readonly KeptReading[]; readonly lateUpToS: number }

function markMany(db: D1Database, { readings, lateUpToS }: Many, { check, of, is }: Guard): readonly Step[] {
  const late = readings.filter(({ atS }) => atS <= lateUpToS)
  if (late.length === 0) return []
  const rigs = Array.from(
    Map.groupBy(late, ({ rigKey }) => rigKey),
    ([rigKey, group]) => [
      rigKey,
      group.reduce((oldestS, { atS }) => Math.min(oldestS, atS), Number.POSITIVE_INFINITY),
      group.map((each) => [...valuesOf(each), each.place]),
    ],
  )
  const statement = db.prepare(markRigs(check)).bind(of, JSON.stringify(rigs), is, lateUpToS)
  return [{ is: 'mark', statement }]
}

type ReadingRow = {
  rig_id: number
  place: PlaceCode
  at_s: number
  humidity_centi_pct: number | null
  temp_centi_c: number | null
  pump_on: 0 | 1 | null
  power_deci_w: number | null
}

function heldOf(row: ReadingRow): HeldReading {
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
