/** The restore drill: a hangar with its history is exported, the deployment is wiped, the file is brought into a new one. */
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import * as z from 'zod'
import { retryBuffer } from '../../clients/hub/retry-buffer.ts'
import { rigFileOf } from '../../clients/local/demo/stories.ts'
import { projectDir } from '../../clients/local/paths.ts'
import { settingsOfPlan, typicalPlan, type RigPlan } from '../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'
import { removeStateDir, startServed, type ServedProcess } from './served.ts'
import { callJson, makeRig, readTrace, timeOf } from './world.ts'

const DAY_S = 86_400
const nowS = Math.floor(Date.now() / 300_000) * 300
const startS = Math.floor(nowS / DAY_S) * DAY_S - 20 * DAY_S
const base = typicalPlan(41, startS)
const bakes = [{ atS: startS + DAY_S / 2, tempC: 120, isLogged: true, isWeighed: true }]
const landS = nowS - (nowS % 300) - 6 * 3600

/** Two rigs with something to tell: a pump that died, and an engine that is wet after a flight. */
const plans: Readonly<Record<string, RigPlan>> = {
  'qx-elm': {
    ...base,
    bakes,
    hub: { ...base.hub, hasPower: true },
    leaks: { ...base.leaks, engineLPerH: 2.5, restLPerH: 0.4 },
    faults: [{ kind: 'pump-dead', size: 1, fromS: nowS - 15 * 3600, untilS: Number.MAX_SAFE_INTEGER }],
  },
  'qx-fen': {
    ...base,
    seed: 43,
    bakes,
    flights: [landS - 12 * DAY_S, landS].map((atS) => ({
      offS: atS - 5400,
      landS: atS,
      onS: atS + 5400,
      waterG: 12,
      heatK: 60,
      isLogged: true,
      isRigLogged: true,
      hub: 'on' as const,
    })),
  },
}
const folder = mkdtempSync(join(tmpdir(), 'beadwatch-restore-'))
afterAll(() => rmSync(folder, { recursive: true }))

async function fill(served: ServedProcess): Promise<string> {
  let hangar: string | undefined
  for (const [slug, plan] of Object.entries(plans)) {
    const settings = rigFileOf(settingsOfPlan(plan))
    const made = await makeRig(served, {
      slug,
      fromS: plan.startS,
      settings,
      ...(hangar === undefined ? {} : { hangar }),
    })
    hangar = made.hangar
    const out: RigOutput = { readings: [], log: [] }
    advanceRig(plan, startRig(plan), nowS - 1800, out)
    for (const { atS, what, detail } of out.log) {
      await callJson(served, 'POST', `/v1/rigs/${made.rig}/logbook`, { at: timeOf(atS), what, detail })
    }
    const buffer = retryBuffer(
      { origin: served.origin, key: made.key },
      { kind: 'csv', rig: null, isZipped: true },
    )
    for (let i = 0; i < out.readings.length; i += 5000) {
      buffer.add(out.readings.slice(i, i + 5000))
      expect(await buffer.flush()).toBe(true)
    }
  }
  return hangar ?? ''
}

const rigsSchema = z.object({ items: z.array(z.object({ id: z.string(), slug: z.string() })) })
const openSchema = z.object({
  items: z.array(
    z.looseObject({
      rule: z.string(),
      state: z.string(),
      raisedAt: z.string(),
      overWhy: z.string().nullable(),
    }),
  ),
})

/** Everything that a person can see of a hangar, without the ids that are made anew. */
async function look(served: ServedProcess, hangar: string) {
  const seen: Record<string, Record<string, unknown>> = {}
  const { items: rigs } = rigsSchema.parse(await callJson(served, 'GET', `/v1/hangars/${hangar}/rigs`))
  for (const { id, slug } of rigs) {
    const span = { from: timeOf(nowS - 40 * DAY_S), to: timeOf(nowS) }
    const search = new URLSearchParams(span).toString()
    const read = (what: string) => callJson(served, 'GET', `/v1/rigs/${id}/${what}`)
    // While a file is brought in piece by piece the analysis may run ahead and take something back again: such an
    // alert says itself that it was due to late readings, and is not part of the history.
    const alerts = openSchema
      .parse(await read('alerts?limit=200'))
      .items.filter(({ overWhy }) => overWhy !== 'late-input')
    seen[slug] = {
      trace: await readTrace(served, id, { ...span, points: '2000' }),
      week: await readTrace(served, id, { ...span, from: timeOf(nowS - 7 * DAY_S), points: '5000' }),
      cycles: await read('cycles?limit=200'),
      fills: await read('fills'),
      exposure: await read(`exposure?${search}`),
      logbook: await read('logbook?limit=200'),
      alerts: alerts.toSorted((a, b) => `${a.raisedAt}${a.rule}`.localeCompare(`${b.raisedAt}${b.rule}`)),
      csv: await (await served.call('GET', `/v1/rigs/${id}/export.csv`)).text(),
    }
    for (const [name, section] of Object.entries(seen[slug])) seen[slug][name] = withoutIds(section)
  }
  return seen
}

const MADE_ANEW = new Set(['id', 'rig', 'hangar', 'madeAt', 'by', 'next'])

function withoutIds(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(withoutIds)
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(
    Object.entries(value)
      .filter(([name]) => !MADE_ANEW.has(name))
      .map(([name, inner]) => [name, withoutIds(inner)]),
  )
}

/** Until the analysis has come as far as it can, twice the same. */
async function lookWhenEven(served: ServedProcess, hangar: string) {
  const endMs = Date.now() + 90_000
  let before = ''
  for (;;) {
    const seen = await look(served, hangar)
    const text = JSON.stringify(seen)
    const hasAlerts = text.includes('"rule":"no-drop"') && text.includes('"rule":"wet-after-flight"')
    if (hasAlerts && text === before) return seen
    if (Date.now() > endMs) throw new Error(`not even in time:\n${served.output().slice(-2000)}`)
    before = text
    await new Promise((done) => setTimeout(done, 2500))
  }
}

function bring(served: ServedProcess, file: string) {
  return new Promise<{ code: number | null; out: string; err: string }>((done) => {
    const args = ['--token', served.hostToken, '--url', served.origin, file]
    const child = spawn(process.execPath, [join(projectDir, 'clients/hub/bring.ts'), ...args])
    let [out, err] = ['', '']
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text))
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text))
    child.on('close', (code) => done({ code, out, err }))
  })
}

test('exported, wiped and brought in, everything that people see is as it was', async () => {
  const first = await startServed()
  const hangar = await fill(first)
  const before = await lookWhenEven(first, hangar)
  const file = join(folder, 'hangar.jsonl')
  const exported = await (await first.call('GET', `/v1/hangars/${hangar}/export`)).text()
  writeFileSync(file, exported)
  await first.stop()
  removeStateDir(first.stateDir)

  const second = await startServed()
  const { code, out, err } = await bring(second, file)
  expect([code, err]).toEqual([0, expect.stringMatching(/^Each source needs a new key/)])
  const brought = z.object({ hangar: z.string(), rigs: z.number() }).parse(JSON.parse(out))
  expect(brought.rigs).toBe(2)
  const after = await lookWhenEven(second, brought.hangar)
  for (const [slug, sections] of Object.entries(before)) {
    for (const [name, section] of Object.entries(sections)) {
      expect.soft(after[slug]?.[name], `${slug} ${name}`).toEqual(section)
    }
  }

  // Cut off in the middle, the file says so itself and is not taken for the whole.
  writeFileSync(file, exported.slice(0, exported.length / 2))
  const cut = await bring(second, file)
  expect(cut.code).toBe(1)
  await second.stop()
  removeStateDir(second.stateDir)
}, 240_000)
