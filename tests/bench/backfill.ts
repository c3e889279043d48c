/** A year of readings every five minutes: by the uploader, and by bare inserts of 5,000 rows. */
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { projectDir } from '../../clients/local/paths.ts'
import { median, type makeWorkerWorld } from './worker-world.ts'

const ROUNDS = 5
const PER_POST = 5000
const YEAR = 365 * 288
const TARGET = 2
/** 2010: nothing else of the bench is there. */
const START_S = 1_262_304_000

type World = Awaited<ReturnType<typeof makeWorkerWorld>>

export async function backfill(world: World, key: string): Promise<void> {
  const dir = mkdtempSync(join(tmpdir(), 'beadwatch-upload-'))
  const took: { uploader: number[]; bare: number[]; start: number[] } = { uploader: [], bare: [], start: [] }
  const ratios: number[] = []
  try {
    for (let round = 0; round < ROUNDS; round++) {
      const rows = yearOf(round)
      const file = join(dir, `${round}.csv`)
      writeFileSync(file, csvOf(rows))
      const ways = [
        async () =>
          took.uploader.push(await timed(() => upload(['--key', key, '--url', world.origin, file]))),
        async () => took.bare.push(await timedBare(world, rows)),
      ]
      for (const way of round % 2 === 0 ? ways : ways.toReversed()) await way()
      took.start.push(await timed(() => upload([])))
      ratios.push((took.uploader.at(-1) ?? 0) / (took.bare.at(-1) ?? 1))
    }
  } finally {
    rmSync(dir, { recursive: true, force: true })
  }
  console.log(
    `a year's back-fill of ${YEAR} readings by the uploader: ${median(ratios).toFixed(2)} times the bare insert (median of ${ROUNDS} rounds, target at most ${TARGET})`,
  )
  for (const [name, times] of Object.entries(took))
    console.log(`  ${name === 'start' ? 'of it the program’s start' : name} ${median(times).toFixed(0)} ms`)
}

type Row = {
  readonly at: string
  readonly humidity: number
  readonly temperature: number
  readonly pump: boolean
  readonly place: 'return'
}

function yearOf(round: number): readonly Row[] {
  return Array.from({ length: YEAR }, (_, i) => ({
    at: new Date((START_S + (round * YEAR + i) * 300) * 1000).toISOString().replace('.000', ''),
    humidity: 6 + (i % 900) / 100,
    temperature: 15 + (i % 40) / 10,
    pump: i % 12 === 0,
    place: 'return',
  }))
}

function csvOf(rows: readonly Row[]): string {
  const lines = rows.map((row) => `${row.at},${row.humidity},${row.temperature},${row.pump ? 1 : 0}`)
  return ['at,humidity,temperature,pump', ...lines, ''].join('\n')
}

async function timed(work: () => Promise<unknown>): Promise<number> {
  const fromMs = performance.now()
  await work()
  return performance.now() - fromMs
}

async function timedBare(world: World, rows: readonly Row[]): Promise<number> {
  const bodies: string[] = []
  for (let from = 0; from < rows.length; from += PER_POST)
    bodies.push(JSON.stringify(rows.slice(from, from + PER_POST)))
  return timed(async () => {
    for (const body of bodies) {
      const answer = await world.bare(body)
      if (answer.status !== 200) throw new Error(await answer.text())
      await answer.text()
    }
  })
}

/** The program itself; without a file it says how it is used and ends. */
function upload(args: readonly string[]): Promise<void> {
  const child = spawn(process.execPath, [join(projectDir, 'clients/hub/upload.ts'), ...args])
  let said = ''
  child.stdout.on('data', (data) => (said += String(data)))
  child.stderr.on('data', () => undefined)
  return new Promise((done, fail) => {
    child.on('error', fail)
    child.on('close', (code) => {
      const isWhole = args.length === 0 || (code === 0 && said.includes(`"stored":${YEAR}`))
      if (isWhole) done()
      else fail(new Error(`the uploader ended with ${code}: ${said}`))
    })
  })
}
