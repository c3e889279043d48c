/** Many alerts at once through a push service that fails now and then, and a sweeper that is killed in the middle. */
import { spawn, type ChildProcess } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { D1Database } from '@cloudflare/workers-types'
import webPush from 'web-push'
import { startPushService, type Fault, type PushService } from '../../peers/push-service.ts'

type DeviceRow = { readonly endpoint: string; readonly p256dh: string; readonly auth: string }

const RIGS_PER_DEVICE = 10

/** One hangar; each device's owner is told of the rigs of that device alone, so each alert goes to one device. */
export async function seed(
  db: D1Database,
  count: number,
  devices: readonly DeviceRow[],
  atS: number,
): Promise<void> {
  const rigs = devices.length * RIGS_PER_DEVICE
  const rigsOf = (device: number) =>
    Array.from({ length: RIGS_PER_DEVICE }, (_, n) => `rig-${device * RIGS_PER_DEVICE + n}`)
  const deviceRows = devices.map((one, n) => [
    `device-${n}`,
    one.endpoint,
    one.p256dh,
    one.auth,
    JSON.stringify(rigsOf(n)),
  ])
  const alertRows = Array.from({ length: count }, (_, n) => [
    `alert-${n}`,
    1 + (n % rigs),
    atS + Math.floor(n / rigs),
    n % 50 === 0 ? 'now' : 'visit',
  ])
  const run = (sql: string, rows: unknown) => db.prepare(sql).bind(JSON.stringify(rows))
  await db.batch([
    db.prepare("INSERT INTO hangar (id, name, made_at_s) VALUES ('h', 'Sparrow Meadow', 0)"),
    db.prepare("INSERT INTO person (id, name, made_at_s) VALUES ('p', 'Mira', 0)"),
    db.prepare("INSERT INTO member (hangar, person, role, since_s) VALUES ('h', 'p', 'keeper', 0)"),
    run(
      `INSERT INTO rig (public_id, hangar, slug, name, made_s)
       SELECT value, 'h', value, value, 0 FROM json_each(?1)`,
      Array.from({ length: rigs }, (_, n) => `rig-${n}`),
    ),
    db.prepare('INSERT INTO memory (rig_id, grid_s) SELECT rig_id, 4000000000 FROM rig'),
    run(
      `INSERT INTO device (id, person, name, origin, endpoint, p256dh, auth, rigs, made_at_s)
       SELECT value->>0, 'p', value->>0, 'https://dry.example', value->>1, value->>2, value->>3, value->>4, 0
         FROM json_each(?1)`,
      deviceRows,
    ),
    run(
      `INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence)
       SELECT value->>0, value->>1, 'no-drop', value->>2, value->>2, value->>3, '{}' FROM json_each(?1)`,
      alertRows,
    ),
    db.prepare(
      `INSERT INTO alert_event (rig_id, rule, raised_at_s, at_s, event, urgency, since_s, evidence)
       SELECT rig_id, rule, raised_at_s, raised_at_s, 'raised', urgency, since_s, '{}' FROM alert`,
    ),
  ])
}

/** One request in ten fails, in turn in every way a service can; the numbers are the same in every run. */
export function faultOf(nth: number): Fault | null {
  if (nth % 10 !== 0) return null
  const faults: readonly Fault[] = [
    { status: 500 },
    { status: 429, headers: { 'Retry-After': '120' } },
    'reset',
    'take-and-reset',
    { status: 503 },
    'hang',
    { status: 502 },
    { status: 429, headers: { 'Retry-After': new Date(Date.now() + 300_000).toUTCString() } },
    { status: 403 },
    { status: 307, headers: { Location: 'http://127.0.0.1:9/elsewhere' } },
  ]
  return faults[(nth / 10) % faults.length] ?? null
}

export type Result = {
  /** How often each alert arrived, by its tag. */
  readonly arrivals: ReadonlyMap<string, number>
  /** Notifications on the phones: a tag shows one, whatever arrived. */
  readonly ids: ReadonlyMap<string, ReadonlySet<string>>
  readonly mistakes: readonly string[]
  readonly requests: number
  readonly kills: number
}

/** Sweeps until nothing waits; kills the sweeper `kills` times, each time after some more messages. */
export async function runMany(count: number, kills: number): Promise<Result> {
  const keys = { ...webPush.generateVAPIDKeys(), contact: 'mailto:host@airfield.example' }
  const service = await startPushService(keys.publicKey)
  service.fail(({ nth }) => faultOf(nth))
  const stateDir = mkdtempSync(join(tmpdir(), 'beadwatch-outbox-'))
  const devices = Array.from({ length: 10 }, () => service.subscribe())
  let startS = Date.parse('2026-11-25T12:00:00Z') / 1000
  let done = 0
  let child: ChildProcess | null = null
  try {
    for (; ; startS += 3600) {
      const isLast = done >= kills
      child = startSweeper([
        stateDir,
        service.origin,
        String(count),
        String(startS),
        JSON.stringify(devices),
        JSON.stringify(keys),
      ])
      if (isLast) {
        await ended(child)
        break
      }
      await arrived(service, child, Math.ceil(((done + 1) * count) / (kills + 2)))
      await kill(child)
      done += 1
    }
    return { ...countOf(service), kills: done }
  } finally {
    if (child !== null && child.exitCode === null && child.signalCode === null) await kill(child)
    await service.close()
    rmSync(stateDir, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 })
  }
}

function countOf(service: PushService): Omit<Result, 'kills'> {
  const arrivals = new Map<string, number>()
  const ids = new Map<string, Set<string>>()
  for (const { text } of service.received) {
    const { tag, data } = JSON.parse(text).notification
    // Reminders of the urgent ones are messages of their own under the same tag.
    if (!String(data.id).includes('/raised/')) continue
    arrivals.set(tag, (arrivals.get(tag) ?? 0) + 1)
    ids.set(tag, (ids.get(tag) ?? new Set()).add(data.id))
  }
  return { arrivals, ids, mistakes: service.mistakes, requests: service.requests() }
}

/** A group of its own, so that the kill takes the runtime below it along, as a power cut would. */
function startSweeper(args: readonly string[]): ChildProcess {
  const file = new URL('sweeper.ts', import.meta.url).pathname
  return spawn(process.execPath, [file, ...args], { stdio: ['ignore', 'ignore', 'inherit'], detached: true })
}

async function arrived(service: PushService, child: ChildProcess, messages: number): Promise<void> {
  while (service.received.length < messages) {
    if (child.exitCode !== null) throw new Error(`the sweeper ended early with ${child.exitCode}`)
    await new Promise((resolve) => setTimeout(resolve, 5))
  }
}

function ended(child: ChildProcess): Promise<void> {
  return new Promise((resolve, reject) => {
    child.once('exit', (code) =>
      code === 0 ? resolve() : reject(new Error(`the sweeper ended with ${code}`)),
    )
  })
}

async function kill(child: ChildProcess): Promise<void> {
  const gone = new Promise((resolve) => child.once('exit', resolve))
  if (child.pid !== undefined) process.kill(-child.pid, 'SIGKILL')
  await gone
}
