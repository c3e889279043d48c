import { env } from 'cloudflare:workers'
import { beforeAll, beforeEach, describe, expect, test } from 'vitest'
import webPush from 'web-push'
import { deviceStore } from '../../../src/adapters/d1/devices.ts'
import { pushSender } from '../../../src/adapters/push/send.ts'
import type { PushSetting } from '../../../src/flows/devices.ts'
import { HOST, makeWorld, NOBODY, type Credential, type World } from '../people/world.ts'

const keys = { ...webPush.generateVAPIDKeys(), contact: 'mailto:host@airfield.example' }
const rules = { addedHosts: [], testOrigin: null }
let answerOfService: () => Promise<Response>
const sentTo: string[] = []

const standIn: typeof fetch = (to) => {
  sentTo.push(new Request(to).url)
  return answerOfService()
}

function push(change: Partial<PushSetting> = {}): PushSetting {
  const send = pushSender({ keys, rules, fetch: standIn, nowMs: Date.now })
  return { publicKey: keys.publicKey, hasContact: true, rules, send, ...change }
}

let world: World
let hangar: string
let ada: { who: Credential; id: string }
let ben: { who: Credential; id: string }

beforeAll(async () => {
  world = await makeWorld({ messages: { devices: deviceStore(env.DB), push: push() } })
  hangar = await world.hangar('North Row')
  ada = await world.join(hangar, 'keeper', 'Ada')
  ben = await world.join(hangar, 'watcher', 'Ben')
})
beforeEach(async () => {
  await env.DB.prepare('DELETE FROM device').run()
  sentTo.length = 0
  answerOfService = () => Promise.resolve(new Response(null, { status: 201 }))
})

/** What a browser hands over; every call is another browser. */
async function subscription(endpoint = `https://fcm.googleapis.com/fcm/send/${crypto.randomUUID()}`) {
  const pair = await crypto.subtle.generateKey({ name: 'ECDH', namedCurve: 'P-256' }, true, ['deriveBits'])
  if (!('publicKey' in pair)) throw new Error('no pair')
  const raw = await crypto.subtle.exportKey('raw', pair.publicKey)
  if (!(raw instanceof ArrayBuffer)) throw new Error('no bytes')
  const auth = crypto.getRandomValues(new Uint8Array(16))
  return {
    endpoint,
    expirationTime: null,
    keys: { p256dh: base64Url(new Uint8Array(raw)), auth: base64Url(auth) },
  }
}

function base64Url(bytes: Uint8Array): string {
  return btoa(String.fromCodePoint(...bytes))
    .replaceAll('+', '-')
    .replaceAll('/', '_')
    .replaceAll('=', '')
}

async function add(who: Credential, more: object = {}) {
  return world.call(who, 'POST /v1/devices', { subscription: await subscription(), ...more })
}

describe('switching a device on', () => {
  test('the key is there for who is signed in', async () => {
    expect((await world.call(ada.who, 'GET /v1/push/key')).body).toEqual({ key: keys.publicKey })
    expect((await world.call(NOBODY, 'GET /v1/push/key')).status).toBe(401)
  })

  test('comes back with the choices, and never with the keys', async () => {
    const quietHours = { from: '22:00', to: '07:30' }
    const added = await add(ada.who, { name: 'phone', rigs: ['r1'], urgencies: ['now'], quietHours })
    expect(added.status).toBe(201)
    expect(added.body).toMatchObject({
      name: 'phone',
      rigs: ['r1'],
      urgencies: ['now'],
      quietHours: { from: '22:00', to: '07:30', forNow: false },
      lastReachedAt: null,
      endedAt: null,
    })
    const list = await world.call(ada.who, 'GET /v1/devices')
    expect(list.body.items).toEqual([added.body])
    expect(list.text).not.toContain('fcm.googleapis.com')
  })

  test('without choices: every rig, now and visit, no quiet hours', async () => {
    expect((await add(ada.who)).body).toMatchObject({
      rigs: null,
      urgencies: ['now', 'visit'],
      quietHours: null,
    })
  })

  test('the same browser again is the same device, also under another person', async () => {
    const same = await subscription()
    const first = await world.call(ada.who, 'POST /v1/devices', { subscription: same })
    const second = await world.call(ben.who, 'POST /v1/devices', {
      subscription: same,
      name: 'shared tablet',
    })
    expect(second.body.id).toBe(first.body.id)
    expect((await world.call(ada.who, 'GET /v1/devices')).body.items).toEqual([])
    expect((await world.call(ben.who, 'GET /v1/devices')).body.items).toHaveLength(1)
  })

  test('who knows an endpoint but not its keys cannot take it over', async () => {
    const hers = await subscription()
    await world.call(ada.who, 'POST /v1/devices', { subscription: hers })
    const taken = await world.call(ben.who, 'POST /v1/devices', {
      subscription: await subscription(hers.endpoint),
    })
    expect(taken.status).toBe(409)
    expect((await world.call(ada.who, 'GET /v1/devices')).body.items).toHaveLength(1)
  })

  test.each([
    ['https://localhost/push', '/subscription/endpoint'],
    ['https://127.0.0.1/push', '/subscription/endpoint'],
    ['https://fcm.googleapis.com.evil.example/x', '/subscription/endpoint'],
    ['http://fcm.googleapis.com/x', '/subscription/endpoint'],
  ])('%s is refused, with the place', async (endpoint, pointer) => {
    const answer = await world.call(ada.who, 'POST /v1/devices', {
      subscription: await subscription(endpoint),
    })
    expect(answer.status).toBe(422)
    expect(answer.body.errors[0].pointer).toBe(pointer)
    expect(sentTo).toEqual([])
  })

  test.each([
    ['p256dh', 'AAAA'],
    ['p256dh', 'not base64url!'],
    ['auth', 'AAAA'],
  ])('a broken %s is refused', async (which, value) => {
    const good = await subscription()
    const answer = await world.call(ada.who, 'POST /v1/devices', {
      subscription: { ...good, keys: { ...good.keys, [which]: value } },
    })
    expect(answer.status).toBe(422)
    expect(answer.body.errors[0].pointer).toBe(`/subscription/keys/${which}`)
  })

  test.each([
    [{ quietHours: { from: '25:00', to: '07:00' } }, '/quietHours/from'],
    [{ urgencies: ['soon'] }, '/urgencies/0'],
  ])('%j is refused', async (choice, pointer) => {
    const answer = await add(ada.who, choice)
    expect(answer.status).toBe(422)
    expect(answer.body.errors[0].pointer).toBe(pointer)
  })

  test('twenty devices are enough', async () => {
    for (let n = 0; n < 20; n += 1) expect((await add(ada.who)).status).toBe(201)
    expect((await add(ada.who)).status).toBe(409)
  })

  test('the host token is nobody and has no device, and a token cannot add one that would outlive it', async () => {
    expect((await add(HOST)).status).toBe(403)
    const writer = await world.token(ada.who, 'write')
    expect((await add(writer)).status).toBe(403)
  })

  test('without keys, and off this machine without a contact, it says what the host has to do', async () => {
    const off = await makeWorld({ messages: { devices: deviceStore(env.DB), push: null } })
    expect((await off.call(ada.who, 'GET /v1/push/key')).body).toEqual({ key: null })
    const body = { subscription: await subscription() }
    expect((await off.call(ada.who, 'POST /v1/devices', body)).status).toBe(409)
    const anonymous = await makeWorld({
      messages: { devices: deviceStore(env.DB), push: push({ hasContact: false }) },
    })
    const refused = await anonymous.call(ada.who, 'POST /v1/devices', body)
    expect(refused.status).toBe(409)
    expect(refused.body.detail).toContain('VAPID_CONTACT')
  })
})

describe('changing and removing', () => {
  test('only what is named changes', async () => {
    const { body } = await add(ada.who, { name: 'phone', urgencies: ['now'] })
    const changed = await world.call(ada.who, `PATCH /v1/devices/${body.id}`, { name: 'old phone' })
    expect(changed.body).toEqual({ ...body, name: 'old phone' })
    const quiet = { quietHours: { from: '22:00', to: '06:00', forNow: true } }
    expect((await world.call(ada.who, `PATCH /v1/devices/${body.id}`, quiet)).body).toMatchObject({
      ...quiet,
      urgencies: ['now'],
    })
    expect((await world.call(ada.who, `PATCH /v1/devices/${body.id}`, {})).status).toBe(200)
  })

  test('an ended device is renewed with its choices; the same browser under another id gives way', async () => {
    const ended = await add(ada.who, { name: 'phone', urgencies: ['now'] })
    await env.DB.prepare("UPDATE device SET endpoint = NULL, ended_at_s = 5, failure = 'gone'").run()
    const fresh = await subscription()
    await world.call(ada.who, 'POST /v1/devices', { subscription: fresh, name: 'again' })
    const renewed = await world.call(ada.who, `PATCH /v1/devices/${ended.body.id}`, { subscription: fresh })
    expect(renewed.body).toMatchObject({ name: 'phone', urgencies: ['now'], endedAt: null, failure: null })
    expect((await world.call(ada.who, 'GET /v1/devices')).body.items).toHaveLength(1)
  })

  test('an endpoint of another browser is not taken over by renewing', async () => {
    const hers = await subscription()
    await world.call(ada.who, 'POST /v1/devices', { subscription: hers })
    const his = await add(ben.who)
    const taken = { subscription: await subscription(hers.endpoint) }
    expect((await world.call(ben.who, `PATCH /v1/devices/${his.body.id}`, taken)).status).toBe(409)
    expect((await world.call(ada.who, 'GET /v1/devices')).body.items).toHaveLength(1)
  })

  test("somebody else's device and none are the same", async () => {
    const { body } = await add(ada.who)
    for (const id of [body.id, 'nothing']) {
      expect((await world.call(ben.who, `PATCH /v1/devices/${id}`, { name: 'mine' })).status).toBe(404)
      expect((await world.call(ben.who, `DELETE /v1/devices/${id}`)).status).toBe(404)
      expect((await world.call(ben.who, `POST /v1/devices/${id}/test`)).status).toBe(404)
    }
    expect((await world.call(ada.who, `DELETE /v1/devices/${body.id}`)).status).toBe(204)
    expect((await world.call(ada.who, 'GET /v1/devices')).body.items).toEqual([])
  })

  test('a reading token sees devices and changes none', async () => {
    const { body } = await add(ada.who)
    const reader = await world.token(ada.who, 'read')
    expect((await world.call(reader, 'GET /v1/devices')).status).toBe(200)
    expect((await world.call(reader, `DELETE /v1/devices/${body.id}`)).status).toBe(403)
    expect((await world.call(reader, `POST /v1/devices/${body.id}/test`)).status).toBe(403)
  })
})

describe('the test message', () => {
  test.each([
    [201, 'taken', { lastReachedAt: expect.any(String), failure: null }],
    [410, 'ended', { lastReachedAt: null, endedAt: expect.any(String), failure: 'gone' }],
    [403, 'refused', { lastReachedAt: null, failure: 'refused-403' }],
    [503, 'later', { lastReachedAt: null, failure: 'server-error' }],
  ])('a push service that answers %i: %s', async (status, outcome, after) => {
    const { body } = await add(ada.who)
    answerOfService = () => Promise.resolve(new Response(null, { status }))
    const tested = await world.call(ada.who, `POST /v1/devices/${body.id}/test`)
    expect(tested.body.outcome).toBe(outcome)
    expect((await world.call(ada.who, 'GET /v1/devices')).body.items[0]).toMatchObject(after)
    expect(sentTo).toHaveLength(1)
  })

  test('an ended subscription says so without a request', async () => {
    const { body } = await add(ada.who)
    await env.DB.prepare('UPDATE device SET endpoint = NULL').run()
    expect((await world.call(ada.who, `POST /v1/devices/${body.id}/test`)).body.outcome).toBe('ended')
    expect(sentTo).toEqual([])
  })

  test('not more than one in ten seconds', async () => {
    const { body } = await add(ada.who)
    await world.call(ada.who, `POST /v1/devices/${body.id}/test`)
    const second = await world.call(ada.who, `POST /v1/devices/${body.id}/test`)
    expect(second.status).toBe(429)
    expect(second.headers.get('retry-after')).toBe('10')
    world.clock.nowS += 10
    expect((await world.call(ada.who, `POST /v1/devices/${body.id}/test`)).status).toBe(200)
  })
})

describe('who would be reached', () => {
  let rig: string
  beforeAll(async () => {
    const settings = { band: { start: 15, stop: 6 } }
    const body = { name: 'Heron', slug: 'heron', settings }
    rig = (await world.call(ada.who, `POST /v1/hangars/${hangar}/rigs`, body)).body.id
  })
  const reach = async () => (await world.call(ben.who, `GET /v1/rigs/${rig}/reach`)).body

  test('nobody without devices', async () => {
    expect(await reach()).toEqual({ nobody: true, pushOn: true, devices: [] })
  })

  test('each reason why a device would not get it', async () => {
    await add(ada.who, { name: 'other rigs', rigs: ['another'] })
    await add(ada.who, { name: 'visits', urgencies: ['visit'] })
    const ended = await add(ada.who, { name: 'ended' })
    const failing = await add(ada.who, { name: 'failing' })
    await env.DB.prepare('UPDATE device SET endpoint = NULL WHERE id = ?1').bind(ended.body.id).run()
    await env.DB.prepare('UPDATE device SET failed_at_s = ?2 WHERE id = ?1')
      .bind(failing.body.id, world.clock.nowS - 86_401)
      .run()
    const before = await reach()
    expect(before.nobody).toBe(true)
    expect(
      before.devices.map((one: { name: string; hindrance: string }) => [one.name, one.hindrance]),
    ).toEqual(
      expect.arrayContaining([
        ['other rigs', 'other-rigs'],
        ['visits', 'not-for-now'],
        ['ended', 'ended'],
        ['failing', 'failing'],
      ]),
    )
    const good = await add(ben.who, { name: 'good', rigs: [rig] })
    await world.call(ben.who, `POST /v1/devices/${good.body.id}/test`)
    const after = await reach()
    expect(after.nobody).toBe(false)
    expect(after.devices.at(-1)).toMatchObject({
      name: 'good',
      owner: 'Ben',
      hindrance: null,
      lastReachedAt: expect.any(String),
    })
  })
})
