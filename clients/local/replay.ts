import { readFileSync } from 'node:fs'
import { pathToFileURL } from 'node:url'
import { advance, type Step } from '../../src/core/fold/advance.ts'
import type { LogEntry, Reading, RigSettings } from '../../src/core/fold/inputs.ts'
import { GRID_S, type Memory, newMemory } from '../../src/core/fold/memory.ts'
import { lookAt } from '../../src/core/fold/view.ts'
import { timestampText } from '../../src/core/ingest/instant.ts'
import { readRigFile } from '../../src/core/rig-file/rig-file.ts'
import { readLogbook } from './logbook-file.ts'
import { alertLine, cycleLine, forecastLine, type OutLine, sortLines, summaryLine } from './replay-lines.ts'
import { readReplayOptions, ReplayError, type ReplayOptions } from './replay-options.ts'
import { type BadLine, readTrace } from './trace-file.ts'

/** Where the lines go; the tests give their own. */
export type Output = { readonly out: (text: string) => void; readonly err: (text: string) => void }

/** Bad lines named one by one; beyond this their number is enough. */
const BAD_SHOWN_MAX = 50

function readText(path: string): string {
  try {
    return readFileSync(path, 'utf8')
  } catch (cause) {
    throw new ReplayError(`cannot read ${path}: ${cause instanceof Error ? cause.message : String(cause)}`, {
      cause,
    })
  }
}

function readRig(path: string, output: Output): RigSettings {
  let parsed: unknown
  try {
    parsed = JSON.parse(readText(path))
  } catch (cause) {
    if (cause instanceof ReplayError) throw cause
    throw new ReplayError(`${path} is no JSON: ${cause instanceof Error ? cause.message : String(cause)}`, {
      cause,
    })
  }
  const result = readRigFile(parsed)
  if (!result.ok) {
    const lines = result.problems.map(({ pointer, detail }) => `${path} ${pointer || '/'}: ${detail}`)
    throw new ReplayError(lines.join('\n'))
  }
  for (const key of result.unknownKeys) output.err(`${path}: unknown key "${key}" is ignored`)
  return result.settings
}

function tellBad(path: string, bad: readonly BadLine[], output: Output): void {
  for (const { line, why } of bad.slice(0, BAD_SHOWN_MAX)) output.err(`${path}:${line}: ${why}`)
  if (bad.length > BAD_SHOWN_MAX) output.err(`${path}: and ${bad.length - BAD_SHOWN_MAX} more`)
  if (bad.length > 0) output.err(`${path}: ${bad.length} bad ${bad.length === 1 ? 'line' : 'lines'} left out`)
}

type Replay = { readonly memory: Memory; readonly lines: OutLine[] }

type Feed = {
  readonly readings: readonly Reading[]
  readonly log: readonly LogEntry[]
  readonly settings: RigSettings
}

function collect(step: Step, options: ReplayOptions, lines: OutLine[]): void {
  for (const event of step.events) lines.push(alertLine(event))
  if (options.isCycles) for (const cycle of step.cycles) lines.push(cycleLine(cycle))
}

/** The end of each piece: all at once, or at every multiple of the forecast's span. */
function endsOf(fromS: number, toS: number, everyS: number | null): number[] {
  const ends: number[] = []
  if (everyS !== null) {
    const stepS = Math.max(GRID_S, Math.round(everyS / GRID_S) * GRID_S)
    for (let atS = (Math.floor(fromS / stepS) + 1) * stepS; atS < toS; atS += stepS) ends.push(atS)
  }
  return [...ends, toS]
}

/** Takes from a sorted list what lies up to `untilS`, from `from` on. */
function upTo<T>(list: readonly T[], from: number, untilS: number, atOf: (item: T) => number): T[] {
  let end = from
  for (let item = list[end]; item !== undefined && atOf(item) <= untilS; item = list[end]) end += 1
  return list.slice(from, end)
}

function run(feed: Feed, fromS: number, toS: number, options: ReplayOptions): Replay {
  let memory = newMemory(fromS)
  const lines: OutLine[] = []
  let reading = 0
  let entry = 0
  for (const endS of endsOf(fromS, toS, options.forecastEveryS)) {
    const gridS = Math.floor(endS / GRID_S) * GRID_S
    const readings = upTo(feed.readings, reading, gridS, ({ atS }) => atS)
    const log = upTo(feed.log, entry, gridS, ({ atS }) => atS)
    reading += readings.length
    entry += log.length
    const step = advance(memory, { readings, log, settings: [{ fromS: 0, settings: feed.settings }] }, gridS)
    memory = step.memory
    collect(step, options, lines)
    if (options.forecastEveryS !== null) lines.push(forecastLine(gridS, lookAt(memory, gridS).forecast))
  }
  return { memory, lines }
}

/** `firstS`: the first reading, which `--to` leaves out; `null`: there is none. */
function nothingWhy(firstS: number | null): string {
  return firstS === null
    ? 'nothing readable in it'
    : `nothing up to --to, the first reading is of ${timestampText(firstS)}`
}

/**
 * Replays a trace through the fold of the scheduled job. Returns the exit code: 0, or 2 for a bad rig.json or nothing
 * readable. Bad lines are named on standard error and left out.
 */
export function replay(args: readonly string[], output: Output): number {
  try {
    const options = readReplayOptions(args)
    const settings = readRig(options.rigFile, output)
    const trace = readTrace(readText(options.traceFile))
    for (const name of trace.unknownColumns) output.err(`${options.traceFile}: column "${name}" is not used`)
    tellBad(options.traceFile, trace.bad, output)
    const logbook = options.logbookFile === null ? null : readLogbook(readText(options.logbookFile))
    if (logbook !== null && options.logbookFile !== null) tellBad(options.logbookFile, logbook.bad, output)
    const readings =
      options.toS === null ? trace.readings : trace.readings.filter(({ atS }) => atS <= (options.toS ?? 0))
    const fromS = readings[0]?.atS
    const lastS = readings.at(-1)?.atS
    if (fromS === undefined || lastS === undefined)
      throw new ReplayError(`${options.traceFile}: ${nothingWhy(trace.readings[0]?.atS ?? null)}`)
    const toS = options.toS ?? Math.ceil(lastS / GRID_S) * GRID_S
    const { memory, lines } = run({ readings, log: logbook?.entries ?? [], settings }, fromS, toS, options)
    for (const { json } of sortLines(lines)) output.out(JSON.stringify(json))
    output.out(JSON.stringify(summaryLine(lookAt(memory, toS), fromS, readings.length)))
    return 0
  } catch (error) {
    if (!(error instanceof ReplayError)) throw error
    output.err(error.message)
    return 2
  }
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  // Written in one go: a year of cycles is thousands of lines.
  const lines: string[] = []
  process.exitCode = replay(process.argv.slice(2), {
    out: (text) => lines.push(text),
    err: (text) => process.stderr.write(`${text}\n`),
  })
  if (lines.length > 0) process.stdout.write(`${lines.join('\n')}\n`)
}
