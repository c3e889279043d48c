import { plainFields } from '../../src/core/ingest/csv.ts'

/** `isOpen`: one of its quotes does not end; the row is this line alone, so that those after it are not lost. */
type Take = (fields: readonly string[], line: number, isOpen: boolean) => void

export const OPEN_QUOTE = 'a quoted field does not end'

/**
 * Gives every row of a CSV text to `take`: its fields, and the line it begins at, from 1 (RFC 4180: quotes, doubled
 * quotes, line ends within quotes; LF and CRLF; a byte-order mark is skipped). Empty lines are left out. Lines without a
 * quote, which is nearly all of them, are only split.
 */
export function eachRow(text: string, take: Take): void {
  const hasQuotes = text.includes('"')
  let from = text.charCodeAt(0) === 0xfe_ff ? 1 : 0
  let line = 1
  while (from < text.length) {
    const lineEnd = text.indexOf('\n', from)
    const end = lineEnd === -1 ? text.length : lineEnd
    const raw = text.slice(from, text.charCodeAt(end - 1) === 13 ? end - 1 : end)
    if (hasQuotes && raw.includes('"')) {
      const quoted = quotedRow(text, from)
      if (quoted.isOpen) take(plainFields(raw), line, true)
      else if (quoted.fields.length > 1 || quoted.fields[0] !== '') take(quoted.fields, line, false)
      line += quoted.isOpen ? 1 : quoted.lines
      from = quoted.isOpen ? end + 1 : quoted.next
    } else {
      if (raw !== '') take(plainFields(raw), line, false)
      line += 1
      from = end + 1
    }
  }
}

type Quoted = { fields: string[]; lines: number; next: number; isOpen: boolean }

/** One row with quotes in it, from `from` on. */
function quotedRow(text: string, from: number): Quoted {
  const fields: string[] = []
  let field = ''
  let isQuoted = false
  let lines = 1
  let index = from
  for (; index < text.length; index++) {
    const mark = text[index]
    if (isQuoted) {
      if (mark === '\n') lines += 1
      if (mark !== '"') field += mark
      else if (text[index + 1] === '"') {
        field += '"'
        index += 1
      } else isQuoted = false
    } else if (mark === '"' && field === '') isQuoted = true
    else if (mark === ',') {
      fields.push(field)
      field = ''
    } else if (mark === '\n') break
    else if (mark !== '\r') field += mark
  }
  fields.push(field)
  return { fields, lines, next: index + 1, isOpen: isQuoted }
}
