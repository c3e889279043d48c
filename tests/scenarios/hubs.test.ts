/** The hub clients against the served process: every body kind, outages, an interrupted upload. */
import { spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, test } from 'vitest'
import * as z from 'zod'
import { BODY_KINDS, encodePost, postMax, recipeFor, type BodyKind } from '../../clients/hub/encode.ts'
import { retryBuffer } from '../../clients/hub/retry-buffer.ts'
import { projectDir } from '../../clients/local/paths.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'
import { typicalPlan } from '../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'
import { removeStateDir, startServed, type ServedProcess } from './served.ts'
import { makeRig, readTrace, timeOf } from './world.ts'

let served: ServedProcess
const folder = mkdtempSync(join(tmpdir(), 'beadwatch-hubs-'))
beforeAll(async () => {
  served = await startServed()
})
afterAll(async () => {
  await served.stop()
  removeStateDir(served.stateDir)
  rmSync(folder, { recursive: true })
})

const startS = Math.floor(Date.now() / 86_400_000) * 86_400 - 2 * 86_400

/** A rig seen by a hub with every value a hub can have. */
function seenFor(hours: number): Reading[] {
  const typical = typicalPlan(5, startS)
  const plan = { ...typical, hub: { ...typical.hub, hasPower: true, hasSupply: true } }
  const out: RigOutput = { readings: [], log: [] }
  advanceRig(plan, startRig(plan), startS + hours * 3600, out)
  return out.readings
}

async function storedReadings(
  rig: string,
): Promise<Record<string, [string, number | null, number | null][]>> {
  const span = { from: timeOf(startS - 86_400), to: timeOf(startS + 3 * 86_400), points: '5000' }
  const { series } = await readTrace(served, rig, span)
  return Object.fromEntries(
    series.map(({ place, points }) => [
      place,
      points.map(({ at, humidity, temperature }) => [at, humidity, temperature]),
    ]),
  )
}

function expected(readings: readonly Reading[]): Record<string, [string, number | null, number | null][]> {
  const byPlace: Record<string, [string, number | null, number | null][]> = {}
  for (const { place, atS, humidityPct, tempC } of readings) {
    // JSON has no minus zero.
    ;(byPlace[place] ??= []).push([timeOf(atS), humidityPct, tempC === null ? null : tempC + 0])
  }
  return byPlace
}

const wishes = BODY_KINDS.flatMap((kind) => [
  [kind, false, null],
  [kind, true, `qx-${kind}`],
]) as [BodyKind, boolean, string | null][]

test.each(wishes)(
  '%s bodies, zipped: %s, rig named: %s, end as the readings they were made from',
  async (...wish) => {
    const [kind, isZipped, named] = wish
    const slug = named ?? `only-${kind}`
    const recipe = kind === 'recipe' ? recipeFor(named) : undefined
    const made = await makeRig(served, { slug, fromS: startS, ...(recipe === undefined ? {} : { recipe }) })
    const readings = seenFor(postMax(kind) === 1 ? 1 : 24)
    const buffer = retryBuffer({ origin: served.origin, key: made.key }, { kind, rig: named, isZipped })
    buffer.add(readings)
    expect(await buffer.flush()).toBe(true)
    expect(buffer.tally).toMatchObject({
      acknowledged: readings.length,
      setAside: 0,
      refused: 0,
      lost: 0,
      lastProblem: null,
    })
    expect(await storedReadings(made.rig)).toEqual(expected(readings))
  },
)

function run(script: string, args: readonly string[], killWhen: (text: string) => boolean = () => false) {
  return new Promise<{ code: number | null; out: string; err: string }>((done) => {
    const child = spawn(process.execPath, [join(projectDir, 'clients/hub', script), ...args])
    let [out, err] = ['', '']
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text))
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      err += text
      if (killWhen(err)) child.kill('SIGKILL')
    })
    child.on('close', (code) => done({ code, out, err }))
  })
}

const summarySchema = z.object({
  records: z.number(),
  stored: z.number(),
  repeated: z.number(),
  setAside: z.number(),
  posts: z.number(),
})

test('an upload that was killed goes on where it was, and every line of the file is there', async () => {
  const made = await makeRig(served, { slug: 'up', fromS: startS - 86_400 })
  const lines = Array.from({ length: 12_000 }, (_, i) => `${startS - 60_000 + 10 * i},${(i % 9000) / 100}\n`)
  const file = join(folder, 'readings.csv')
  writeFileSync(file, `at,humidity\n${lines.join('')}`)
  const args = ['--url', served.origin, '--key', made.key, file]
  const killed = await run('upload.ts', args, (text) => text.includes(' 5000 records'))
  expect(killed.code).toBeNull()
  expect(existsSync(`${file}.upload`)).toBe(true)
  const rest = await run('upload.ts', args)
  expect(rest.code).toBe(0)
  expect(rest.err).toMatch(/^going on behind byte \d+ of \d+/)
  const summary = summarySchema.parse(JSON.parse(rest.out))
  expect(summary.records).toBeLessThanOrEqual(7000)
  expect(summary.setAside).toBe(0)
  expect(existsSync(`${file}.upload`)).toBe(false)
  const csv = await (await served.call('GET', `/v1/rigs/${made.rig}/export.csv`)).text()
  expect(csv.trim().split(/\r?\n/)).toHaveLength(12_001)
})

test('what cannot be read is named by its line, the rest is stored, and the summary says so', async () => {
  const made = await makeRig(served, { slug: 'bad', fromS: startS })
  const file = join(folder, 'bad.csv')
  writeFileSync(
    file,
    `at,humidity\n${timeOf(startS)},11\n${timeOf(startS + 60)},soggy\n${timeOf(startS + 120)},12\n`,
  )
  const { code, out, err } = await run('upload.ts', ['--url', served.origin, '--key', made.key, file])
  expect(code).toBe(1)
  expect(summarySchema.parse(JSON.parse(out))).toMatchObject({ records: 3, stored: 2, setAside: 1 })
  expect(err).toMatch(/^line 3: \w+/m)
})

test('a wrong key stops the upload at once and says so', async () => {
  const file = join(folder, 'small.csv')
  writeFileSync(file, `at,humidity\n${timeOf(startS)},11\n`)
  const { code, err } = await run('upload.ts', ['--url', served.origin, '--key', 'nothing', file])
  expect(code).toBe(2)
  expect(err).toMatch(/^refused, from line 2: 401/)
})

test('the simulated hub posts what was held back during an outage', async () => {
  const made = await makeRig(served, { slug: 'sim', fromS: startS })
  const args = [
    '--url',
    served.origin,
    '--key',
    made.key,
    '--days',
    '3',
    '--until-now',
    '--outage',
    '30/60',
    '--every',
    '600',
  ]
  const { code, out } = await run('hub.ts', args)
  expect(code).toBe(0)
  const tally = z
    .object({ acknowledged: z.number(), stored: z.number(), lost: z.number() })
    .parse(JSON.parse(out))
  expect(tally).toMatchObject({ stored: tally.acknowledged, lost: 0 })
  // Three days every ten minutes, at two places.
  expect(tally.acknowledged).toBeGreaterThan(850)
})

test('a hub that is started wrongly says how', async () => {
  expect(await run('hub.ts', [])).toMatchObject({ code: 2, err: expect.stringContaining('--key is missing') })
  const { code, err } = await run('hub.ts', ['--key', 'k', '--fault', 'gremlins'])
  expect([code, err]).toEqual([2, expect.stringContaining('--fault gremlins is none of')])
})

test('the recipe printed for outsiders is the one that reads the posts', async () => {
  const { out } = await run('hub.ts', ['--print-recipe', '--rig', 'qx-x'])
  expect(JSON.parse(out)).toEqual(JSON.parse(JSON.stringify(recipeFor('qx-x'))))
  const post = encodePost(seenFor(1), { kind: 'recipe', rig: 'qx-x', isZipped: false })
  expect(String(post.body)).toContain('dryer/qx-x')
})
