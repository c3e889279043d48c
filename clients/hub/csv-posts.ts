/** Cuts a CSV file into posts of whole records, with the header on each. */

/** The service takes 5,000 records and 1 MiB a post; with the free plan's settings, so many records. */
export const RECORDS_PER_POST = 5000
export const RECORDS_PER_SMALL_POST = 500
const BYTES_PER_POST = 1_000_000

export type CsvPost = {
  readonly text: string
  readonly records: number
  /** Bytes of the file up to the end of this post: where to go on. */
  readonly endsAtByte: number
  /** Line of the file on which the post's first record begins; the header is line 1. */
  readonly firstLine: number
}

/**
 * Reads chunks of text and yields posts. RFC 4180: a line break within quotes belongs to the field.
 * @param skipBytes goes on behind this byte of the file; the header is read all the same
 */
export async function* cutCsv(
  chunks: AsyncIterable<string> | Iterable<string>,
  { skipBytes = 0, recordsPerPost = RECORDS_PER_POST }: { skipBytes?: number; recordsPerPost?: number } = {},
): AsyncGenerator<CsvPost> {
  let header: string | null = null
  let lines: string[] = []
  let bytes = 0
  let postBytes = 0
  let line = 1
  let firstLine = 2
  const take = (): CsvPost => {
    const post = {
      text: (header ?? '') + lines.join(''),
      records: lines.length,
      endsAtByte: bytes,
      firstLine,
    }
    lines = []
    postBytes = 0
    return post
  }
  for await (const record of records(chunks)) {
    const size = Buffer.byteLength(record)
    const isFull = lines.length >= recordsPerPost || postBytes + size > BYTES_PER_POST
    if (isFull && lines.length > 0) yield take()
    if (header === null) header = headerIn(record)
    else if (bytes + size > skipBytes && record.trim() !== '') {
      if (lines.length === 0) firstLine = line
      lines.push(record)
      postBytes += size
    }
    bytes += size
    line += record.split('\n').length - 1
  }
  if (lines.length > 0) yield take()
}

/** Blank lines may stand above it. */
function headerIn(record: string): string | null {
  if (record.trim() === '') return null
  return record.endsWith('\n') ? record : `${record}\n`
}

/** Whole records with their line break; the last may lack it. */
async function* records(chunks: AsyncIterable<string> | Iterable<string>): AsyncGenerator<string> {
  let rest = ''
  let isQuoted = false
  let scanned = 0
  for await (const chunk of chunks) {
    rest += chunk
    let start = 0
    let quoteAt = positionOf('"', rest, scanned)
    for (;;) {
      const breakAt = positionOf('\n', rest, scanned)
      const upTo = Math.min(breakAt, rest.length)
      // Each quote turns it over, doubled ones twice.
      for (; quoteAt < upTo; quoteAt = positionOf('"', rest, quoteAt + 1)) isQuoted = !isQuoted
      scanned = upTo
      if (breakAt > upTo) break
      scanned += 1
      if (isQuoted) continue
      yield rest.slice(start, scanned)
      start = scanned
    }
    rest = rest.slice(start)
    scanned -= start
  }
  if (rest !== '') yield rest
}

function positionOf(char: string, text: string, from: number): number {
  const at = text.indexOf(char, from)
  return at < 0 ? Number.POSITIVE_INFINITY : at
}
