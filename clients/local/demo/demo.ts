/** Makes the demo's hangars and rigs over HTTP, back-fills their readings, and goes on posting in real time. */
import { existsSync, readFileSync, renameSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import * as z from 'zod'
import type { LogEntry } from '../../../src/core/fold/inputs.ts'
import { settingsOfPlan, type RigPlan } from '../../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput } from '../../../src/core/rig/simulate.ts'
import { startRig, type RigState } from '../../../src/core/rig/state.ts'
import { rfc3339 } from '../../hub/encode.ts'
import { retryBuffer, type RetryBuffer } from '../../hub/retry-buffer.ts'
import { callHost, type Host } from '../host-calls.ts'
import { StartError } from '../start-error.ts'
import { rigFileOf, STORIES, type Story } from './stories.ts'

/** How often the hubs look whether they have something to say, ms. They post every five minutes as a rule. */
const STEP_EVERY_MS = 15_000

/** Posted again after a restart, in case the last post was cut off: repeats cost nothing. */
const OVERLAP_S = 3600
const POST_RECORDS = 5000

export type DemoHost = Host & {
  readonly stateDir: string
  readonly say: (line: string) => void
}

const noteSchema = z.object({
  /** The time the stories are told from: the same plans come out again after a restart. */
  toldAtS: z.int(),
  hangars: z.record(z.string(), z.string()),
  rigs: z.record(z.string(), z.object({ id: z.string(), key: z.string(), isLogged: z.boolean() })),
})
type Note = z.infer<typeof noteSchema>
type Rig = {
  readonly story: Story
  readonly plan: RigPlan
  readonly state: RigState
  readonly buffer: RetryBuffer
}

/**
 * Brings the demo to the present: makes what is missing, posts what the hubs would have posted since. Interrupted
 * at any point, the next start goes on from there: the simulation gives the same readings again, and repeats are free.
 * @returns stop, which ends the live readings
 */
export async function startDemo(host: DemoHost): Promise<() => void> {
  const note = readNote(host.stateDir) ?? { toldAtS: wholeStep(Date.now() / 1000), hangars: {}, rigs: {} }
  const rigs: Rig[] = []
  for (const story of STORIES) {
    const rig = await makeRig(host, note, story)
    await bringToPresent(host, note, rig)
    rigs.push(rig)
  }
  let isPosting = false
  const timer = setInterval(() => {
    if (isPosting) return
    isPosting = true
    void postLive(host, note, rigs)
      .catch((error: unknown) => host.say(`The demo could not post: ${String(error)}`))
      .finally(() => {
        isPosting = false
      })
  }, STEP_EVERY_MS)
  return () => clearInterval(timer)
}

/** True when this state folder holds a demo. */
export function hasDemo(stateDir: string): boolean {
  return existsSync(noteFile(stateDir))
}

async function makeRig(host: DemoHost, note: Note, story: Story): Promise<Rig> {
  const plan = story.planFor(note.toldAtS)
  const settings = rigFileOf(settingsOfPlan(plan))
  note.hangars[story.hangar] ??= await make(host, '/v1/hangars', { name: story.hangar })
  save(host, note)
  const hangar = note.hangars[story.hangar]
  if (note.rigs[story.slug] === undefined) {
    const { slug, name } = story
    const id = await make(host, `/v1/hangars/${hangar}/rigs`, { name, slug, settings })
    await callHost(host, 'PATCH', `/v1/rigs/${id}`, { from: rfc3339(plan.startS), settings })
    const source = await make(host, `/v1/hangars/${hangar}/sources`, { name: `Hub of ${name}`, rigs: [slug] })
    const { key } = keySchema.parse(await callHost(host, 'POST', `/v1/sources/${source}/keys`))
    note.rigs[slug] = { id, key, isLogged: false }
    save(host, note)
  }
  const { key = '' } = note.rigs[story.slug] ?? {}
  const buffer = retryBuffer({ origin: host.origin, key }, { kind: 'native', rig: null, isZipped: false })
  return { story, plan, state: startRig(plan), buffer }
}

/** The logbook first, so that the analysis meets each entry at its time and has nothing to go back for. */
async function bringToPresent(host: DemoHost, note: Note, rig: Rig): Promise<void> {
  const made = note.rigs[rig.story.slug]
  if (made === undefined) throw new Error(`${rig.story.slug} was not made`)
  const out: RigOutput = { readings: [], log: [] }
  advanceRig(rig.plan, rig.state, Date.now() / 1000, out)
  if (!made.isLogged) {
    const known = logSchema.parse(await callHost(host, 'GET', `/v1/rigs/${made.id}/logbook?limit=200`))
    const times = new Set(known.items.map((entry) => `${entry.what} ${entry.at}`))
    for (const entry of out.log) {
      if (!times.has(`${entry.what} ${rfc3339(entry.atS)}`)) await log(host, made.id, entry)
    }
    note.rigs[rig.story.slug] = { ...made, isLogged: true }
    save(host, note)
  }
  const sinceS = await newestAtS(host, made.id)
  const missing = out.readings.filter((reading) => reading.atS > sinceS - OVERLAP_S)
  // A hub's buffer is bounded: three months at once would push the oldest out.
  for (let i = 0; i < missing.length; i += POST_RECORDS) {
    rig.buffer.add(missing.slice(i, i + POST_RECORDS))
    await flush(host, rig)
  }
}

async function postLive(host: DemoHost, note: Note, rigs: readonly Rig[]): Promise<void> {
  for (const rig of rigs) {
    const out: RigOutput = { readings: [], log: [] }
    advanceRig(rig.plan, rig.state, Date.now() / 1000, out)
    const id = note.rigs[rig.story.slug]?.id
    if (id !== undefined) for (const entry of out.log) await log(host, id, entry)
    rig.buffer.add(out.readings)
    await flush(host, rig)
  }
}

async function flush(host: DemoHost, rig: Rig): Promise<void> {
  const isEmpty = await rig.buffer.flush()
  if (isEmpty && rig.buffer.tally.refused === 0) return
  host.say(`${rig.story.name}: ${rig.buffer.tally.lastProblem}`)
}

function log(host: DemoHost, rig: string, { atS, what, detail }: LogEntry): Promise<unknown> {
  return callHost(host, 'POST', `/v1/rigs/${rig}/logbook`, { at: rfc3339(atS), what, detail })
}

const idSchema = z.object({ id: z.string() })
const keySchema = z.object({ key: z.string() })
const logSchema = z.object({ items: z.array(z.object({ at: z.string(), what: z.string() })) })
const nowSchema = z.object({ heardAt: z.string().nullable() })

async function make(host: DemoHost, path: string, body: unknown): Promise<string> {
  return idSchema.parse(await callHost(host, 'POST', path, body)).id
}

async function newestAtS(host: DemoHost, rig: string): Promise<number> {
  const { heardAt } = nowSchema.parse(await callHost(host, 'GET', `/v1/rigs/${rig}/now`))
  return heardAt === null ? 0 : Date.parse(heardAt) / 1000
}

function noteFile(stateDir: string): string {
  return join(stateDir, 'demo.json')
}

function readNote(stateDir: string): Note | null {
  const file = noteFile(stateDir)
  if (!existsSync(file)) return null
  try {
    return noteSchema.parse(JSON.parse(readFileSync(file, 'utf8')))
  } catch (error) {
    throw new StartError(
      `The demo's file ${file} is broken: delete the state folder to begin again, or start with --empty.`,
      { cause: error },
    )
  }
}

function save({ stateDir }: DemoHost, note: Note): void {
  const file = noteFile(stateDir)
  writeFileSync(`${file}.new`, JSON.stringify(note, null, 2), { mode: 0o600 })
  renameSync(`${file}.new`, file)
}

function wholeStep(atS: number): number {
  return Math.floor(atS / 300) * 300
}
