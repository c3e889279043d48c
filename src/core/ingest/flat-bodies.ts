/** Bodies without structure: CSV with a header line, and form fields. Under native names, else by the recipe. */
import { findByRecipe } from './by-recipe.ts'
import { parseCsv } from './csv.ts'
import type { FindResult, Unfit } from './found.ts'
import { NATIVE_TERMS } from './found.ts'
import { escapeStep } from './json-pointer.ts'
import { NATIVE_NAMES } from './native.ts'
import type { RawRecord } from './reading-record.ts'
import type { Recipe } from './recipe.ts'

export type FlatSource = {
  readonly recipe: Recipe | null
  readonly recipeVersion: number
  readonly receivedS: number
}

const VALUE_NAMES = ['humidity', 'temperature', 'pump', 'power'] as const
const FLAT_TERMS = { ...NATIVE_TERMS, isEmptyMissing: true }

/** True if the first line names at least one native value, separated by commas: nothing else looks like that. */
export function looksLikeCsv(text: string): boolean {
  const names = headerOf(text.slice(0, text.indexOf('\n') < 0 ? 500 : text.indexOf('\n')).split(','))
  return names.length > 1 && VALUE_NAMES.some((name) => names.includes(name))
}

function headerOf(row: readonly string[]): readonly string[] {
  return row.map((name) => name.replaceAll('"', '').trim().toLowerCase())
}

export function findCsv(text: string, source: FlatSource): FindResult {
  const parsed = parseCsv(text)
  if (!parsed.ok) return { problem: 'not_parseable', detail: `line ${parsed.line}: ${parsed.detail}` }
  const [first, ...rows] = parsed.rows
  if (first === undefined || rows.length === 0)
    return nothing('a header line and at least one line of values are needed')
  const header = headerOf(first)
  const isNative = VALUE_NAMES.some((name) => header.includes(name))
  if (isNative && !isForRecipe(first, header, source.recipe)) {
    const columns = columnsOf(header)
    const records = rows.map((row) => csvRecord(row, header.length, columns))
    return { readAs: 'CSV', records, terms: FLAT_TERMS }
  }
  if (source.recipe === null)
    return nothing(
      `the header names none of ${VALUE_NAMES.join(', ')}: ${header.slice(0, 10).join(', ').slice(0, 100)}`,
    )
  const found = findByRecipe(objectsOf(first, rows), source.recipe, flatRead('CSV', source))
  if ('problem' in found || source.recipe.each !== null) return found
  const records = found.records.map((record, index) => misfit(rows[index] ?? [], first.length) ?? record)
  return { ...found, records }
}

/**
 * Native names may be a hub's own too, under which it means another time or unit: a recipe that finds a value and its
 * time in these columns was made for them. A header with all of our names is our own export, whatever the recipe.
 */
function isForRecipe(first: readonly string[], header: readonly string[], recipe: Recipe | null): boolean {
  if (recipe === null || NATIVE_NAMES.every((name) => header.includes(name))) return false
  const { at, humidity, temperature, pump, power } = recipe
  const columns = new Set(first.map((name) => `/${escapeStep(name.trim())}`))
  const hasValue = [humidity, temperature, pump, power].some(
    (from) => from !== null && columns.has(from.pointer),
  )
  return hasValue && (at === null ? !header.includes('at') : columns.has(at.pointer))
}

type Flat = Readonly<Record<string, string>>

function objectsOf(names: readonly string[], rows: readonly (readonly string[])[]): readonly Flat[] {
  return rows.map((row) => Object.fromEntries(names.map((name, index) => [name.trim(), row[index] ?? ''])))
}

/** As a recipe sees the lines of a CSV; `null` if it has no header and lines. */
export function readCsvRecords(text: string): readonly Flat[] | null {
  const parsed = parseCsv(text)
  const [first, ...rows] = parsed.ok ? parsed.rows : []
  return first === undefined || rows.length === 0 ? null : objectsOf(first, rows)
}

type Columns = Readonly<Record<(typeof NATIVE_NAMES)[number], number>>

/** Where each native name stands in the header, looked up once for all lines; -1 if it is not there. */
function columnsOf(header: readonly string[]): Columns {
  return {
    at: header.indexOf('at'),
    humidity: header.indexOf('humidity'),
    temperature: header.indexOf('temperature'),
    pump: header.indexOf('pump'),
    power: header.indexOf('power'),
    place: header.indexOf('place'),
    rig: header.indexOf('rig'),
  }
}

/** A line with more or fewer fields than the header: nobody knows which value is which. */
function misfit(row: readonly string[], fields: number): Unfit | null {
  if (row.length === fields) return null
  return { pointer: '', reason: 'not_a_record', detail: `${row.length} fields under a header of ${fields}` }
}

function csvRecord(row: readonly string[], fields: number, columns: Columns): RawRecord | Unfit {
  const unfit = misfit(row, fields)
  if (unfit !== null) return unfit
  return {
    at: fieldAt(row, columns.at),
    humidity: fieldAt(row, columns.humidity),
    temperature: fieldAt(row, columns.temperature),
    pump: fieldAt(row, columns.pump),
    power: fieldAt(row, columns.power),
    place: fieldAt(row, columns.place),
    rig: fieldAt(row, columns.rig),
  }
}

function fieldAt(row: readonly string[], column: number): string | undefined {
  const value = column < 0 ? '' : (row[column] ?? '').trim()
  return value === '' ? undefined : value
}

/** `application/x-www-form-urlencoded`: one record. A field that comes twice counts once, the first time. */
export function findForm(text: string, source: FlatSource): FindResult {
  const fields = readFormFields(text)
  if (fields === null)
    return { problem: 'not_parseable', detail: 'a field is not percent-encoded as it should be' }
  if (source.recipe !== null) return findByRecipe({ ...fields }, source.recipe, flatRead('form', source))
  if (!NATIVE_NAMES.some((name) => Object.hasOwn(fields, name)))
    return nothing(`none of the fields ${NATIVE_NAMES.join(', ')} is in it: give the source a recipe`)
  const { at, humidity, temperature, pump, power, place, rig } = fields
  return {
    readAs: 'form',
    records: [{ at, humidity, temperature, pump, power, place, rig }],
    terms: FLAT_TERMS,
  }
}

/** `null` if a field is not percent-encoded as it should be. */
export function readFormFields(text: string): Flat | null {
  const fields: Record<string, string> = Object.create(null)
  for (const pair of text.trim().split('&').slice(0, FORM_FIELDS_MAX)) {
    const [name, value] = pairOf(pair)
    if (name === null || value === null) return null
    if (name !== '' && !Object.hasOwn(fields, name)) fields[name] = value
  }
  return fields
}

/** A hub's form has a handful. */
const FORM_FIELDS_MAX = 200

function pairOf(pair: string): readonly [string | null, string | null] {
  const equals = pair.indexOf('=')
  const [name, value] = equals < 0 ? [pair, ''] : [pair.slice(0, equals), pair.slice(equals + 1)]
  return [decoded(name), decoded(value)]
}

function decoded(text: string): string | null {
  try {
    return decodeURIComponent(text.replaceAll('+', ' '))
  } catch {
    return null
  }
}

function flatRead(kind: string, source: FlatSource) {
  return {
    readAs: `${kind} by recipe ${source.recipeVersion}`,
    receivedS: source.receivedS,
    isEmptyMissing: true,
  }
}

function nothing(detail: string): FindResult {
  return { problem: 'no_record', detail, errors: [{ pointer: '', detail }] }
}
