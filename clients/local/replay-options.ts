import { parseArgs } from 'node:util'
import { readInstant } from '../../src/core/ingest/instant.ts'

export type ReplayOptions = {
  readonly rigFile: string
  readonly traceFile: string
  readonly logbookFile: string | null
  /** End of the replay, Unix s; `null`: the last reading. */
  readonly toS: number | null
  readonly isCycles: boolean
  readonly forecastEveryS: number | null
}

/** The command line cannot be obeyed, or nothing can be read: exit 2. */
export class ReplayError extends Error {
  override readonly name = 'ReplayError'
}

export const REPLAY_USAGE = `usage: npm run -s replay -- --rig rig.json [--logbook logbook.csv] [--to TIME] [--cycles]
                           [--forecast-every 1d] trace.csv
  --rig FILE           the rig: {"band": {"start": 15, "stop": 6}, ...}
  --logbook FILE       at,what,detail
  --to TIME            end of the replay (the last reading, rounded up to five minutes)
  --cycles             a line for every run with the rest after it
  --forecast-every T   a line with the forecast every 1d, 12h, 90m`

const SPAN_S: Readonly<Record<string, number>> = { m: 60, h: 3600, d: 86_400, w: 7 * 86_400 }
const SPAN_MIN_S = 300

function readSpanS(text: string): number {
  const parts = /^(\d+(?:\.\d+)?)\s*([mhdw])$/u.exec(text.trim())
  const spanS = Number(parts?.[1]) * (SPAN_S[parts?.[2] ?? ''] ?? Number.NaN)
  if (!(spanS >= SPAN_MIN_S)) throw new ReplayError(`--forecast-every ${text}: a span such as 1d, 12h or 90m`)
  return spanS
}

function readToS(text: string): number {
  const instant = readInstant(text)
  if (instant.kind !== 'instant') throw new ReplayError(`--to ${text}: a time such as 2026-03-01T06:00:00Z`)
  return instant.atS
}

function parse(args: readonly string[]) {
  try {
    return parseArgs({
      args: [...args],
      allowPositionals: true,
      options: {
        rig: { type: 'string' },
        logbook: { type: 'string' },
        to: { type: 'string' },
        cycles: { type: 'boolean' },
        'forecast-every': { type: 'string' },
      },
    })
  } catch (cause) {
    throw new ReplayError(`${cause instanceof Error ? cause.message : String(cause)}\n${REPLAY_USAGE}`, {
      cause,
    })
  }
}

/** Reads the command line of `replay`. Throws a ReplayError that says what is wrong with it. */
export function readReplayOptions(args: readonly string[]): ReplayOptions {
  const { values, positionals } = parse(args)
  const [traceFile, ...more] = positionals
  if (values.rig === undefined) throw new ReplayError(`--rig is missing\n${REPLAY_USAGE}`)
  if (traceFile === undefined) throw new ReplayError(`the trace is missing\n${REPLAY_USAGE}`)
  if (more.length > 0)
    throw new ReplayError(`one trace at a time: ${more.join(' ')} is too many\n${REPLAY_USAGE}`)
  const every = values['forecast-every']
  return {
    rigFile: values.rig,
    traceFile,
    logbookFile: values.logbook ?? null,
    toS: values.to === undefined ? null : readToS(values.to),
    isCycles: values.cycles ?? false,
    forecastEveryS: every === undefined ? null : readSpanS(every),
  }
}
