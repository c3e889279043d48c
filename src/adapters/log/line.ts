/**
 * One JSON line an event, for whoever runs this. It must be possible to hand a log to a stranger: only the fields named
 * here leave, and free text, which comes from errors and may quote what people sent, is stripped of what could be theirs.
 */
export type LogLine = Readonly<Record<string, string | number | boolean | null>>

/** Words, counts, durations and the ids of requests and of parts of this program. */
const FIELDS = new Set([
  'event',
  'request',
  'method',
  'route',
  'status',
  'durationMs',
  'part',
  'error',
  'message',
  'failure',
  'reason',
  'host',
  'rig',
  'shard',
  'told',
  'sent',
  'failed',
  'dropped',
  'hasMore',
  'rows',
  'rigs',
  'behind',
  'times',
])

/** Those of the fields that carry an error's own words. */
const FREE_TEXT = new Set(['message', 'failure'])
const TEXT_MAX_CHARS = 300

export function logLine(line: LogLine, atMs: number): string {
  const kept: Record<string, string | number | boolean | null> = { at: new Date(atMs).toISOString() }
  for (const [name, value] of Object.entries(line)) {
    if (!FIELDS.has(name)) continue
    kept[name] = typeof value === 'string' ? textOf(name, value) : value
  }
  return JSON.stringify(kept)
}

function textOf(name: string, value: string): string {
  const text = FREE_TEXT.has(name) ? withoutPersonal(value) : value
  return text.slice(0, TEXT_MAX_CHARS)
}

/**
 * Drops what an error may have quoted: texts in quotation marks, addresses of mail and of the web beyond the host,
 * and runs of letters and digits as long as keys, tokens, ids and hashes are.
 */
export function withoutPersonal(text: string): string {
  // This one quotes the beginning of what was sent, in quotation marks that do not close.
  if (/is not valid JSON|JSON at position/.test(text)) return 'not valid JSON'
  return text
    .replaceAll(/"[^"]*"|'[^']*'|`[^`]*`|“[^”]*”/g, '"…"')
    .replaceAll(/[^\s@]+@[^\s@]+/g, '…@…')
    .replaceAll(/(\bhttps?:\/\/[^\s/?#]+)[^\s]*/g, '$1/…')
    .replaceAll(/[A-Za-z0-9_-]{20,}/g, '…')
}
