import { PLACES, type Reading } from '../../src/core/fold/inputs.ts'
import { NATIVE_TERMS } from '../../src/core/ingest/found.ts'
import { NATIVE_NAMES } from '../../src/core/ingest/native.ts'
import { readRecord, type ReadingTerms } from '../../src/core/ingest/read-record.ts'
import type { KeptReading } from '../../src/core/ingest/reading-record.ts'
import { eachRow, OPEN_QUOTE } from './csv-rows.ts'
import { ReplayError } from './replay-options.ts'

export type BadLine = { readonly line: number; readonly why: string }

export type Trace = {
  /** Sorted by time; one per place and instant. */
  readonly readings: readonly Reading[]
  readonly bad: readonly BadLine[]
  /** Columns that are not used, by name. */
  readonly unknownColumns: readonly string[]
}

/** A file may hold the future: nothing is too far ahead, as every reading counts as if it arrived at its own time. */
const NEVER_LATE_S = 1e11

const terms: ReadingTerms = { ...NATIVE_TERMS, isEmptyMissing: true, rigs: [], receivedS: NEVER_LATE_S }

type Columns = { readonly [Name in (typeof NATIVE_NAMES)[number]]: number }
type Header = { readonly columns: Columns; readonly count: number; readonly unknownColumns: string[] }

function readHeader(fields: readonly string[]): Header {
  const names = fields.map((name) => name.trim().toLowerCase())
  if (!names.includes('at')) {
    throw new ReplayError(`the trace has no column "at" in its first line: ${names.join(',').slice(0, 80)}`)
  }
  // A column that is not there lies behind the last one: to read before the first is slow.
  const of = (name: string): number => (names.includes(name) ? names.indexOf(name) : names.length)
  const columns: Columns = {
    at: of('at'),
    humidity: of('humidity'),
    temperature: of('temperature'),
    pump: of('pump'),
    power: of('power'),
    place: of('place'),
    rig: of('rig'),
  }
  const known = new Set<string>(NATIVE_NAMES)
  return { columns, count: names.length, unknownColumns: names.filter((name) => !known.has(name)) }
}

const oneRig: ReadingTerms = { ...terms, rigs: [{ key: 1, slug: '' }] }

function toReading(kept: KeptReading): Reading {
  return {
    atS: kept.atS,
    place: PLACES[kept.place] ?? 'return',
    humidityPct: kept.humidityCentiPct === null ? null : kept.humidityCentiPct / 100,
    tempC: kept.tempCentiC === null ? null : kept.tempCentiC / 100,
    pumpOn: kept.pumpOn === null ? null : kept.pumpOn === 1,
    powerW: kept.powerDeciW === null ? null : kept.powerDeciW / 10,
  }
}

/** Two values of one instant agree if one of them is missing or both are equal. */
function agrees(a: unknown, b: unknown): boolean {
  return a === null || b === null || a === b
}

/** Within an instant the order of the service, whatever that of the file. */
function placeOf({ place }: Reading): number {
  return PLACES.indexOf(place)
}

/** One reading per place and instant: a later line fills what is missing, repeats are nothing new, conflicts are bad. */
function mergeEqual(rows: Rows): Reading[] {
  const { lines, bad } = rows
  const order = rows.readings
    .map((reading, index) => ({ reading, line: lines[index] ?? 0 }))
    .sort((a, b) => a.reading.atS - b.reading.atS || placeOf(a.reading) - placeOf(b.reading))
  const readings: Reading[] = []
  let firstOfInstant = 0
  for (const { line, reading } of order) {
    if (readings[firstOfInstant]?.atS !== reading.atS) firstOfInstant = readings.length
    let at = firstOfInstant
    while (at < readings.length && readings[at]?.place !== reading.place) at += 1
    const before = readings[at]
    if (before === undefined) {
      readings.push(reading)
      continue
    }
    const isSame =
      agrees(before.humidityPct, reading.humidityPct) &&
      agrees(before.tempC, reading.tempC) &&
      agrees(before.pumpOn, reading.pumpOn) &&
      agrees(before.powerW, reading.powerW)
    if (!isSame) bad.push({ line, why: 'another value for an instant that has one already: the first stays' })
    else {
      readings[at] = {
        ...before,
        humidityPct: before.humidityPct ?? reading.humidityPct,
        tempC: before.tempC ?? reading.tempC,
        pumpOn: before.pumpOn ?? reading.pumpOn,
        powerW: before.powerW ?? reading.powerW,
      }
    }
  }
  return readings
}

type Rows = {
  readonly bad: BadLine[]
  /** As they come, and the line of each. */
  readonly readings: Reading[]
  readonly lines: number[]
  slug: string | null
  /** Each is later than the one before, as in nearly every file: nothing to sort, nothing said twice. */
  isAscending: boolean
  lastS: number
}

/** Reads one row into `rows`. A row that was cut off, or has commas too many, would give a value that nobody measured. */
function takeRow(rows: Rows, { columns, count }: Header, fields: readonly string[], line: number): void {
  if (fields.length !== count) {
    rows.bad.push({ line, why: `${fields.length} fields under a header of ${count}` })
    return
  }
  const own = fields[columns.rig]?.trim() ?? ''
  if (own !== '') rows.slug ??= own
  if (own !== '' && own !== rows.slug) {
    rows.bad.push({ line, why: `another rig than ${rows.slug}: a replay is of one rig` })
    return
  }
  const at = fields[columns.at]?.trim() ?? ''
  if (at === '') {
    rows.bad.push({ line, why: 'no time' })
    return
  }
  const raw = {
    at,
    humidity: fields[columns.humidity],
    temperature: fields[columns.temperature],
    pump: fields[columns.pump],
    power: fields[columns.power],
    place: fields[columns.place],
    rig: undefined,
  }
  const result = readRecord(raw, line, oneRig)
  if (!result.ok) {
    rows.bad.push({ line, why: `${result.setAside.pointer.slice(1) || 'record'}: ${result.setAside.detail}` })
    return
  }
  const reading = toReading(result.reading)
  if (reading.atS <= rows.lastS) rows.isAscending = false
  rows.lastS = reading.atS
  rows.readings.push(reading)
  rows.lines.push(line)
}

/** Reads a trace: `at,humidity,temperature,pump,power,place,rig`, in any order. Throws a ReplayError without a header. */
export function readTrace(text: string): Trace {
  const rows: Rows = { bad: [], readings: [], lines: [], slug: null, isAscending: true, lastS: 0 }
  let header: Header | null = null
  eachRow(text, (fields, line, isOpen) => {
    if (header === null) header = readHeader(fields)
    else if (isOpen) rows.bad.push({ line, why: OPEN_QUOTE })
    else takeRow(rows, header, fields, line)
  })
  if (header === null) throw new ReplayError('the trace is empty')
  const { unknownColumns }: Header = header
  const readings = rows.isAscending ? rows.readings : mergeEqual(rows)
  return { readings, bad: rows.bad, unknownColumns }
}
