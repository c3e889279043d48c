/**
 * A year of readings replayed, as a ratio to a naive parse of the same text in the same run: the fold must stay cheap
 * beside reading the file at all. `npm run bench:replay`
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { replay } from '../../clients/local/replay.ts'
import { advance } from '../../src/core/fold/advance.ts'
import { type Memory, newMemory, packMemory } from '../../src/core/fold/memory.ts'
import { timestampText } from '../../src/core/ingest/instant.ts'
import { type Flight, settingsOfPlan, typicalPlan } from '../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'

const START_S = Date.UTC(2026, 0, 1) / 1000
const DAY_S = 86_400
const YEAR_S = 365 * DAY_S
/** Naive and replay take turns, so that a busy machine is busy for both. */
const ROUNDS = 9

/** A year with a flight every 14 days and about 20 runs a week. */
function yearOfReadings(): RigOutput {
  const flights: Flight[] = []
  for (let atS = START_S + 10 * DAY_S; atS < START_S + YEAR_S; atS += 14 * DAY_S) {
    const landS = atS + 90 * 60
    flights.push({
      offS: atS,
      landS,
      onS: landS + 3600,
      waterG: 5,
      heatK: 50,
      isLogged: true,
      isRigLogged: true,
      hub: 'on',
    })
  }
  const bakes = [0.2, 0.5, 0.8].map((share) => ({
    atS: START_S + Math.round((share * YEAR_S) / 300) * 300,
    tempC: 120,
    isLogged: true,
    isWeighed: true,
  }))
  const typical = typicalPlan(1, START_S)
  const plan = { ...typical, flights, bakes, leaks: { ...typical.leaks, engineLPerH: 2, boxLPerH: 0.03 } }
  const output: RigOutput = { readings: [], log: [] }
  advanceRig(plan, startRig(plan), START_S + YEAR_S, output)
  return { ...output, readings: output.readings.filter(({ place }) => place === 'return') }
}

function csvOf({ readings }: RigOutput): string {
  const lines = readings.map(
    ({ atS, humidityPct, tempC, pumpOn }) =>
      `${timestampText(atS)},${humidityPct ?? ''},${tempC ?? ''},${pumpOn === null ? '' : pumpOn ? 'on' : 'off'}`,
  )
  return `at,humidity,temperature,pump\n${lines.join('\n')}\n`
}

/** The cheapest honest reading of the text: what any program has to do with it. */
function naiveParse(text: string): number {
  let sum = 0
  for (const line of text.split('\n')) {
    const [at, humidity, temperature] = line.split(',')
    sum += Number(humidity) + Number(temperature) + Date.parse(at ?? '')
  }
  return sum
}

function timeMs(run: () => void): number {
  globalThis.gc?.()
  const startMs = performance.now()
  run()
  return performance.now() - startMs
}

const medianOf = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? 0

function memoryBytes(output: RigOutput, days: number): number {
  const settings = [{ fromS: START_S, settings: settingsOfPlan(typicalPlan(1, START_S)) }]
  const untilS = START_S + days * DAY_S
  const memory: Memory = newMemory(output.readings[0]?.atS ?? START_S)
  const readings = output.readings.filter(({ atS }) => atS <= untilS)
  const log = output.log.filter(({ atS }) => atS <= untilS)
  return packMemory(advance(memory, { readings, log, settings }, untilS).memory).length
}

const dir = mkdtempSync(join(tmpdir(), 'bench-replay-'))
try {
  const output = yearOfReadings()
  const text = csvOf(output)
  const traceFile = join(dir, 'trace.csv')
  const rigFile = join(dir, 'rig.json')
  const logFile = join(dir, 'log.csv')
  writeFileSync(traceFile, text)
  const log = output.log.map(({ atS, what, detail }) => {
    const pairs = Object.entries(detail).map(([name, value]) => `${name}=${value}`)
    return `${timestampText(atS)},${what},${pairs.join(';')}`
  })
  writeFileSync(logFile, `at,what,detail\n${log.join('\n')}\n`)
  writeFileSync(
    rigFile,
    '{"band": {"start": 15, "stop": 6}, "beadMassG": 2000, "volumeL": 45, "flowLPerMin": 2.5}',
  )
  let lines = 0
  let cycles = 0
  const replayOnce = (): void => {
    lines = 0
    replay(['--rig', rigFile, '--logbook', logFile, '--cycles', traceFile], {
      out: (line) => {
        lines += 1
        if (line.startsWith('{"event":"summary"')) cycles = Number(/"cycles":(\d+)/u.exec(line)?.[1])
      },
      err: (line) => process.stderr.write(`${line}\n`),
    })
  }
  const naivesMs: number[] = []
  const replaysMs: number[] = []
  for (let round = 0; round < ROUNDS; round++) {
    naivesMs.push(timeMs(() => naiveParse(text)))
    replaysMs.push(timeMs(replayOnce))
  }
  const ratios = replaysMs.map((replayMs, round) => replayMs / (naivesMs[round] ?? 1))
  const heap = process.memoryUsage()
  console.log(
    `readings               ${output.readings.length}, ${(text.length / 1e6).toFixed(1)} MB of text, ${(cycles / 52).toFixed(1)} cycles a week`,
  )
  console.log(`naive parse            ${medianOf(naivesMs).toFixed(0)} ms`)
  console.log(`replay                 ${medianOf(replaysMs).toFixed(0)} ms, ${lines} lines`)
  console.log(
    `ratio                  ${medianOf(ratios).toFixed(1)} (at most 10), best ${Math.min(...ratios).toFixed(1)}`,
  )
  console.log(
    `process memory         ${(heap.rss / 1e6).toFixed(0)} MB resident, ${(heap.heapUsed / 1e6).toFixed(0)} MB heap`,
  )
  for (const days of [7, 30, 365]) {
    console.log(
      `memory record, ${String(days).padStart(3)} d   ${(memoryBytes(output, days) / 1024).toFixed(1)} KiB (at most 32)`,
    )
  }
} finally {
  rmSync(dir, { recursive: true })
}
