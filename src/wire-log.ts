/** Composition of the log: lines to the platform, and failures counted where the host can see them. */
import { waitUntil } from 'cloudflare:workers'
import { addTally } from './adapters/d1/tally.ts'
import { logLine, type LogLine } from './adapters/log/line.ts'

export type Log = (line: LogLine) => void

/** What a host should see in `/healthz` without reading a log. Messages that fail are counted with their settlement. */
const COUNTED: ReadonlySet<string> = new Set([
  'failed',
  'ingest-failed',
  'schedule-failed',
  'spread-failed',
  'rig-set-back',
  'queue-message-failed',
  'queue-message-dead',
  'push-unsendable',
])

export function openLog(db: D1Database): Log {
  return (line) => {
    const nowMs = Date.now()
    // oxlint-disable-next-line no-console -- the platform collects what is written here
    console.log(logLine(line, nowMs))
    const { event } = line
    if (typeof event !== 'string' || !COUNTED.has(event)) return
    // A count that cannot be written is lost, as everything is then; the line is out.
    waitUntil(addTally(db, event, Math.floor(nowMs / 1000)).catch(() => undefined))
  }
}
