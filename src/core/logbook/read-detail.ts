/** The `detail` of an entry as people send it, checked by its kind and kept as text. */
import { readTimestamp } from '../ingest/instant.ts'
import { enteredNumber } from './entered-number.ts'
import { LOG_FIELDS, type Field, type LogKind } from './kinds.ts'

export type DetailProblem = {
  readonly pointer: string
  readonly detail: string
  /** Where a number is out of its range. */
  readonly range?: { readonly min: number; readonly max: number } | undefined
}

export type DetailResult =
  | { readonly ok: true; readonly detail: Readonly<Record<string, string>> }
  | { readonly ok: false; readonly problems: readonly DetailProblem[] }

/** Names that no kind knows are kept and ignored, but not without bound. */
const NAMES_MAX = 30
const ANY_TEXT: Field = { type: 'text', maxChars: 2000 }

type Given = Readonly<Record<string, string | number | boolean>>

/** Empty values are left out: a form sends what was not filled in. */
export function readDetail(what: LogKind, given: Given): DetailResult {
  const problems: DetailProblem[] = []
  const fields = LOG_FIELDS[what]
  // Names are the caller's: nothing of theirs may meet a prototype.
  const detail: Record<string, string> = Object.create(null)
  const names = Object.keys(given)
  if (names.length > NAMES_MAX) problems.push({ pointer: '/detail', detail: `at most ${NAMES_MAX} names` })
  for (const name of names.slice(0, NAMES_MAX)) {
    const text = String(given[name] ?? '').trim()
    if (text === '') continue
    const field = (Object.hasOwn(fields, name) ? fields[name] : undefined) ?? ANY_TEXT
    const why = problemWith(field, text)
    const range = field.type === 'number' ? { min: field.min, max: field.max } : undefined
    if (why !== null) problems.push({ pointer: `/detail/${pointerStep(name)}`, detail: why, range })
    else detail[name] = text
  }
  return problems.length > 0 ? { ok: false, problems } : { ok: true, detail }
}

function problemWith(field: Field, text: string): string | null {
  switch (field.type) {
    case 'number': {
      const value = enteredNumber(text)
      const isIn = value !== null && value >= field.min && value <= field.max
      return isIn ? null : `a number from ${field.min} to ${field.max}`
    }
    case 'time':
      return isTime(text) ? null : 'a time such as 2026-03-01T06:00:00Z'
    case 'word':
      return field.words.includes(text) ? null : `one of ${field.words.join(', ')}`
    default:
      return text.length <= field.maxChars ? null : `at most ${field.maxChars} characters`
  }
}

/** RFC 3339 in full, with a zone: the logbook is read back for years. */
function isTime(text: string): boolean {
  return /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d/.test(text) && readTimestamp(text).kind === 'instant'
}

/** RFC 6901 section 3. */
function pointerStep(name: string): string {
  return name.replaceAll('~', '~0').replaceAll('/', '~1')
}
