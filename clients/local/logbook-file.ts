import type { LogEntry } from '../../src/core/fold/inputs.ts'
import { readInstant } from '../../src/core/ingest/instant.ts'
import { LOG_KINDS, type LogKind } from '../../src/core/logbook/kinds.ts'
import { readDetail } from '../../src/core/logbook/read-detail.ts'
import { eachRow, OPEN_QUOTE } from './csv-rows.ts'
import { ReplayError } from './replay-options.ts'
import type { BadLine } from './trace-file.ts'

export type Logbook = { readonly entries: readonly LogEntry[]; readonly bad: readonly BadLine[] }

function isKind(what: string): what is LogKind {
  return LOG_KINDS.some((kind) => kind === what)
}

/** `name=value;name=value`; a value may itself hold `=`. */
function readPairs(text: string): Record<string, string> {
  const pairs: Record<string, string> = Object.create(null)
  for (const part of text.split(';')) {
    const at = part.indexOf('=')
    if (at > 0) pairs[part.slice(0, at).trim()] = part.slice(at + 1).trim()
  }
  return pairs
}

type Entry = { readonly ok: true; readonly entry: LogEntry } | { readonly ok: false; readonly why: string }

function readEntry(at: string, what: string, detail: string): Entry {
  const instant = readInstant(at)
  if (instant.kind !== 'instant') return { ok: false, why: `"${at}" is no time such as 2026-03-01T06:00:00Z` }
  if (!isKind(what)) return { ok: false, why: `"${what}" is none of ${LOG_KINDS.join(', ')}` }
  const result = readDetail(what, readPairs(detail))
  if (!result.ok) {
    return {
      ok: false,
      why: result.problems.map((problem) => `${problem.pointer.slice(8)}: ${problem.detail}`).join('; '),
    }
  }
  return { ok: true, entry: { atS: instant.atS, what, detail: result.detail } }
}

type Header = { readonly at: number; readonly what: number; readonly detail: number }

function readHeader(fields: readonly string[]): Header {
  const names = fields.map((name) => name.trim().toLowerCase())
  const header = { at: names.indexOf('at'), what: names.indexOf('what'), detail: names.indexOf('detail') }
  if (header.at === -1 || header.what === -1) {
    throw new ReplayError('the logbook needs the columns at,what,detail in its first line')
  }
  return header
}

/** Reads a logbook: `at,what,detail`, sorted by time. Throws a ReplayError without its columns. */
export function readLogbook(text: string): Logbook {
  const bad: BadLine[] = []
  const entries: LogEntry[] = []
  let header: Header | null = null
  eachRow(text, (fields, line, isOpen) => {
    if (header === null) {
      header = readHeader(fields)
      return
    }
    if (isOpen) {
      bad.push({ line, why: OPEN_QUOTE })
      return
    }
    const { at, what, detail } = header
    const read = readEntry(fields[at]?.trim() ?? '', fields[what]?.trim() ?? '', fields[detail] ?? '')
    if (read.ok) entries.push(read.entry)
    else bad.push({ line, why: read.why })
  })
  return { entries: entries.sort((a, b) => a.atS - b.atS), bad }
}
