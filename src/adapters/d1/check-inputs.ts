/**
 * What is new to a rig since its memory: readings, logbook entries, settings. Each list comes as JSON in one row a rig,
 * so that the spans are gone through once for all of them and a rig costs a row a list beside what is in it.
 */
import type { LogEntry } from '../../core/fold/inputs.ts'
import { PLACES } from '../../core/fold/inputs.ts'
import { SHORT_SPAN_S } from '../../core/limits.ts'
import { readRigFile } from '../../core/rig-file/rig-file.ts'
import type { InputSpan, RigInputs } from '../../flows/check-ports.ts'
import { readingOf } from './reading-row.ts'
import type { ReadingRecord } from './reading-row.ts'
import { parseStored, rowsOf } from './stored.ts'

/** `?1`: [rig, readings after, up to, log after] for each rig. */
const ENTRIES = `j.value ->> 0 AS rig_id,
  (SELECT json_group_array(json_array(l.at_s, l.entry_id, l.what, l.detail)) FROM logbook l
   WHERE l.rig_id = j.value ->> 0 AND l.at_s > j.value ->> 3 AND l.at_s <= j.value ->> 2) AS log,
  (SELECT json_group_array(json_array(t.from_s, t.settings)) FROM rig_settings t
   WHERE t.rig_id = j.value ->> 0 AND t.from_s > j.value ->> 3 AND t.from_s <= j.value ->> 2) AS settings`

const readingsAt = (place: number): string => `
  (SELECT json_group_array(json_array(r.at_s, r.humidity_centi_pct, r.temp_centi_c, r.pump_on, r.power_deci_w))
   FROM reading r WHERE r.rig_id = j.value ->> 0 AND r.place = ${place}
     AND r.at_s > j.value ->> 1 AND r.at_s <= j.value ->> 2) AS place_${place}`

const SHORT = `SELECT ${ENTRIES}, ${PLACES.map((_, place) => readingsAt(place)).join(', ')} FROM json_each(?1) j`
const LONG = `SELECT ${ENTRIES} FROM json_each(?1) j`

/** Of a long span the oldest of each place, at most so many: rows read are bounded by what is returned. */
const LONG_READINGS = [0, 1, 2, 3]
  .map(
    (place) => `
  SELECT * FROM (
    SELECT rig_id, place, at_s, humidity_centi_pct, temp_centi_c, pump_on, power_deci_w FROM reading
    WHERE rig_id = ?1 AND place = ${place} AND at_s > ?2 AND at_s <= ?3 ORDER BY at_s LIMIT ?4)`,
  )
  .join(' UNION ALL ')

type OwnedReading = ReadingRecord & { rig_id: number }
type Entries = { rig_id: number; log: string; settings: string }
type Short = Entries & { place_0: string; place_1: string; place_2: string; place_3: string }
type Thunk = () => RigInputs

export async function inputsOf(
  db: D1Database,
  spans: readonly InputSpan[],
): Promise<ReadonlyMap<number, Thunk>> {
  const short = spans.filter(isShort)
  const long = spans.filter((span) => !isShort(span))
  const [shortRows, longRows, ...longReadings] = await db.batch([
    db.prepare(SHORT).bind(JSON.stringify(short.map(arrayOf))),
    db.prepare(LONG).bind(JSON.stringify(long.map(arrayOf))),
    ...long.map((span) =>
      db.prepare(LONG_READINGS).bind(span.rigKey, span.fromS, span.toS, span.readingsMax),
    ),
  ])
  const byRig = new Map(rowsOf<Short>(shortRows).map((row) => [row.rig_id, row]))
  const longByRig = new Map(rowsOf<Entries>(longRows).map((row) => [row.rig_id, row]))
  return new Map([
    ...short.map((span): [number, Thunk] => [span.rigKey, () => shortInputs(span, byRig.get(span.rigKey))]),
    ...long.map((span, index): [number, Thunk] => {
      const readings = rowsOf<OwnedReading>(longReadings[index])
      return [span.rigKey, () => inputsIn(span, longByRig.get(span.rigKey), readings)]
    }),
  ])
}

function isShort(span: InputSpan): boolean {
  return span.toS - span.fromS <= SHORT_SPAN_S
}

function arrayOf(span: InputSpan): readonly number[] {
  return [span.rigKey, span.fromS, span.toS, span.logFromS]
}

function shortInputs(span: InputSpan, row: Short | undefined): RigInputs {
  const lists = row === undefined ? [] : [row.place_0, row.place_1, row.place_2, row.place_3]
  const readings = lists.flatMap((list, place) =>
    parseStored<ReadingList>(list).map(
      ([at_s, humidity_centi_pct, temp_centi_c, pump_on, power_deci_w]): ReadingRecord => ({
        place,
        at_s,
        humidity_centi_pct,
        temp_centi_c,
        pump_on,
        power_deci_w,
      }),
    ),
  )
  return inputsIn(span, row, readings)
}

type ReadingList = readonly (readonly [number, number | null, number | null, number | null, number | null])[]

/** The lists in the order of their keys. */
function inputsIn(
  span: InputSpan,
  entries: Entries | undefined,
  readings: readonly ReadingRecord[],
): RigInputs {
  const completeToS = isShort(span) ? span.toS : completeTo(span, readings)
  const log = parseStored<readonly (readonly [number, string, string, string])[]>(entries?.log ?? '[]')
  const settings = parseStored<readonly (readonly [number, string])[]>(entries?.settings ?? '[]')
  return {
    completeToS,
    readings: readings
      .filter((row) => row.at_s <= completeToS)
      .sort((a, b) => a.at_s - b.at_s || a.place - b.place)
      .map(readingOf),
    log: log
      .filter(([atS]) => atS <= completeToS)
      .toSorted((a, b) => a[0] - b[0] || (a[1] < b[1] ? -1 : 1))
      .map(([atS, , what, detail]): LogEntry => ({
        atS,
        what,
        detail: parseStored<Record<string, string>>(detail),
      })),
    settings: settings
      .filter(([fromS]) => fromS <= completeToS)
      .toSorted((a, b) => a[0] - b[0])
      .map(([fromS, text]) => ({ fromS, settings: settingsOf(span.rigKey, text) })),
  }
}

/** Where a place's readings were cut, the others may not go further either. */
function completeTo(span: InputSpan, readings: readonly ReadingRecord[]): number {
  const byPlace = Map.groupBy(readings, (row) => row.place)
  let completeToS = span.toS
  for (const group of byPlace.values()) {
    const last = group.at(-1)
    if (last !== undefined && group.length >= span.readingsMax) completeToS = Math.min(completeToS, last.at_s)
  }
  return completeToS
}

function settingsOf(rigKey: number, text: string) {
  const file = readRigFile(parseStored<unknown>(text))
  if (!file.ok)
    throw new Error(`settings of rig ${rigKey} cannot be read: ${file.problems[0]?.pointer ?? ''}`)
  return file.settings
}
