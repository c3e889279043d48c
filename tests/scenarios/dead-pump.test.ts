/**
 * The main job, through the served process: a hub's readings in, an alert, a message on a phone, and its end. The
 * hub is a simulated rig; the phone's push service stands on loopback, checks the signature and decrypts.
 */
import { afterAll, beforeAll, expect, test } from 'vitest'
import * as z from 'zod'
import { openState } from '../../clients/local/state.ts'
import { retryBuffer, type RetryBuffer } from '../../clients/hub/retry-buffer.ts'
import { settingsOfPlan, typicalPlan, type Fault } from '../../src/core/rig/plan.ts'
import { advanceRig, type RigOutput, truthOf } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'
import { rigFileOf } from '../../clients/local/demo/stories.ts'
import { startPushService, type PushService } from '../peers/push-service.ts'
import { newStateDir, removeStateDir, startServed, type ServedProcess } from './served.ts'
import { callJson, makeRig, type MadeRig } from './world.ts'

const HOUR_S = 3600
const nowS = Math.floor(Date.now() / 300_000) * 300
const startS = nowS - 20 * 24 * HOUR_S
const mendedS = nowS - 8 * HOUR_S

let served: ServedProcess
let phones: PushService
let made: MadeRig
let cookie = ''
let buffer: RetryBuffer
let phone: ReturnType<PushService['subscribe']>

const stateDir = newStateDir()
const base = typicalPlan(37, startS)
const healthy = {
  ...base,
  leaks: { ...base.leaks, engineLPerH: 2.5, restLPerH: 0.4 },
  faults: [],
  bakes: [{ atS: startS + HOUR_S, tempC: 120, isLogged: true, isWeighed: false }],
}

/** The first time from `fromS` on at which the pump rests: one that dies in a run is told since that run began. */
function atRestS(fromS: number): number {
  const rig = startRig(healthy)
  let atS = fromS
  for (; ; atS += 300) {
    advanceRig(healthy, rig, atS, { readings: [], log: [] })
    if (!truthOf(healthy, rig).isOn) return atS
  }
}

// Two days: whatever the hour and the weather, the outlet calls for the pump within them.
const diedS = atRestS(nowS - 48 * HOUR_S)
const dead: Fault = { kind: 'pump-dead', size: 1, fromS: diedS, untilS: mendedS }
const plan = { ...healthy, faults: [dead] }
const state = startRig(plan)
const alertSchema = z.object({
  id: z.string(),
  rule: z.string(),
  state: z.string(),
  urgency: z.string(),
  since: z.string(),
  sentence: z.string(),
})
const alertsSchema = z.object({ items: z.array(alertSchema) })
const messageSchema = z.object({
  notification: z.object({ title: z.string(), body: z.string(), navigate: z.string(), tag: z.string() }),
})

beforeAll(async () => {
  phones = await startPushService(openState(stateDir).vapidPublicKey)
  served = await startServed({
    stateDir,
    env: { BEADWATCH_PUSH_TEST_ORIGIN: phones.origin, BEADWATCH_CONTACT: 'mailto:host@beads.example' },
  })
  made = await makeRig(served, { slug: 'qx-elm', fromS: startS, settings: rigFileOf(settingsOfPlan(plan)) })
  const target = { origin: served.origin, key: made.key }
  buffer = retryBuffer(target, { kind: 'native', rig: null, isZipped: true })
})
afterAll(async () => {
  await served.stop()
  await phones.close()
  removeStateDir(stateDir)
})

/** What the hub has seen until then, posted; its owner's entries first. */
async function live(untilS: number): Promise<void> {
  const out: RigOutput = { readings: [], log: [] }
  advanceRig(plan, state, untilS, out)
  for (const { atS, what, detail } of out.log) {
    await callJson(served, 'POST', `/v1/rigs/${made.rig}/logbook`, {
      at: new Date(atS * 1000).toISOString(),
      what,
      detail,
    })
  }
  for (let i = 0; i < out.readings.length; i += 5000) {
    buffer.add(out.readings.slice(i, i + 5000))
    expect(await buffer.flush()).toBe(true)
  }
  expect(buffer.tally).toMatchObject({ setAside: 0, refused: 0, lost: 0 })
}

async function alerts() {
  const { items } = alertsSchema.parse(await callJson(served, 'GET', `/v1/rigs/${made.rig}/alerts`))
  return items.filter(({ rule }) => rule === 'no-drop')
}

async function until<T>(look: () => Promise<T> | T, isGood: (seen: T) => boolean): Promise<T> {
  const endMs = Date.now() + 40_000
  for (;;) {
    const seen = await look()
    if (isGood(seen)) return seen
    if (Date.now() > endMs)
      throw new Error(`not in time: ${JSON.stringify(seen)}\n${served.output().slice(-2000)}`)
    await new Promise((done) => setTimeout(done, 200))
  }
}

/** What no longer changes for two seconds: other messages of the same days may still be under way. */
async function settled(look: () => number): Promise<number> {
  let seen = look()
  let sinceMs = Date.now()
  while (Date.now() - sinceMs < 2000) {
    await new Promise((done) => setTimeout(done, 200))
    if (look() === seen) continue
    seen = look()
    sinceMs = Date.now()
  }
  return seen
}

const messages = () =>
  phones.received
    .map(({ text }) => messageSchema.parse(JSON.parse(text)).notification)
    .filter(({ title }) => /qx-elm/.test(title))

test('a link signs in once, with a cookie that only this host gets back', async () => {
  const { token } = z
    .object({ token: z.string() })
    .parse(
      await callJson(served, 'POST', `/v1/hangars/${made.hangar}/invites`, { role: 'keeper', name: 'Ada' }),
    )
  const accept = () =>
    fetch(`${served.origin}/v1/invites/accept`, {
      method: 'POST',
      headers: { 'content-type': 'application/json', origin: served.origin },
      body: JSON.stringify({ token, name: 'Ada' }),
    })
  const answer = await accept()
  expect(answer.status).toBe(200)
  const set = answer.headers.getSetCookie().find((each) => each.startsWith('__Host-')) ?? ''
  expect(set).toMatch(/; *Path=\/(;|$)/i)
  for (const attribute of ['HttpOnly', 'Secure', 'SameSite=']) expect(set).toContain(attribute)
  expect(set).not.toMatch(/Domain=/i)
  cookie = set.split(';')[0] ?? ''
  const me = await fetch(`${served.origin}/v1/me`, { headers: { cookie } })
  expect(await me.text()).toContain('Ada')
  expect((await accept()).status).not.toBe(200)
})

test('a change asked for by a page of another site is refused, cookie or not', async () => {
  const answer = await fetch(`${served.origin}/v1/hangars/${made.hangar}`, {
    method: 'PATCH',
    headers: { cookie, 'content-type': 'application/json', origin: 'https://elsewhere.example' },
    body: JSON.stringify({ name: 'Taken over' }),
  })
  expect(answer.status).toBe(403)
})

test('the phone subscribes with the key the service names', async () => {
  const key = await fetch(`${served.origin}/v1/push/key`, { headers: { cookie } })
  expect(await key.json()).toEqual({ key: openState(stateDir).vapidPublicKey })
  phone = phones.subscribe()
  const answer = await fetch(`${served.origin}/v1/devices`, {
    method: 'POST',
    headers: { cookie, 'content-type': 'application/json', origin: served.origin },
    body: JSON.stringify({
      name: 'Phone',
      subscription: { endpoint: phone.endpoint, keys: { p256dh: phone.p256dh, auth: phone.auth } },
    }),
  })
  expect(answer.status).toBe(201)
})

test('while the pump works there is no alert and no message', async () => {
  await live(diedS - HOUR_S)
  const path = `/v1/rigs/${made.rig}/cycles`
  const cycles = await until(
    async () => z.object({ items: z.array(z.unknown()) }).parse(await callJson(served, 'GET', path)).items,
    (items) => items.length > 20,
  )
  expect(cycles.length).toBeGreaterThan(20)
  expect(await alerts()).toEqual([])
  expect(messages().filter(({ body }) => /pump/i.test(body))).toEqual([])
})

test('a pump that runs and dries nothing becomes an alert and one message that says so', async () => {
  await live(mendedS - HOUR_S)
  const [alert] = await until(alerts, (seen) => seen.some(({ state: now }) => now === 'open'))
  expect(alert).toMatchObject({ rule: 'no-drop', state: 'open' })
  expect(Date.parse(alert?.since ?? '') / 1000).toBeGreaterThanOrEqual(diedS)
  const told = await until(messages, (seen) => seen.some(({ tag }) => tag.includes(alert?.id ?? '-')))
  const about = told.filter(({ tag }) => tag.includes(alert?.id ?? '-'))
  expect(about).toHaveLength(1)
  expect(about[0]?.body).toContain(alert?.sentence.split('.')[0] ?? '-')
  expect(phones.mistakes).toEqual([])
})

test('when the pump dries again the alert is over, and the phone is told once', async () => {
  await live(nowS)
  const [alert] = await until(alerts, (seen) => seen.every(({ state: now }) => now === 'over'))
  expect(alert?.state).toBe('over')
  const about = await until(
    () => messages().filter(({ tag }) => tag.includes(alert?.id ?? '-')),
    (seen) => seen.length >= 2,
  )
  expect(about).toHaveLength(2)
  // The same tag: on the phone the end takes the place of the alert.
  expect(new Set(about.map(({ tag }) => tag)).size).toBe(1)
  expect(about[1]?.title).not.toBe(about[0]?.title)
})

test('the same readings again tell nobody anything', async () => {
  const before = await settled(() => phones.received.length)
  const again = startRig(plan)
  const out: RigOutput = { readings: [], log: [] }
  advanceRig(plan, again, nowS, out)
  buffer.add(out.readings.slice(-5000))
  await buffer.flush()
  await new Promise((done) => setTimeout(done, 4000))
  expect(phones.received.length).toBe(before)
  expect(buffer.tally.repeated).toBe(5000)
})
