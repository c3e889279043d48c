/** Every way a push service can answer, seen by the served Worker in its own runtime, through the test message. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { z } from 'zod'
import { startPushService, type Fault, type PushService } from '../../peers/push-service.ts'
import { newStateDir, removeStateDir, startServed, type ServedProcess } from '../served.ts'

let service: PushService
let served: ServedProcess
let cookie: string
/** What must stand nowhere but where it belongs. */
const secrets: string[] = []
/** Every answer of the device calls. */
const answers: string[] = []

beforeAll(async () => {
  const stateDir = newStateDir()
  const first = await startServed({ stateDir })
  await first.stop()
  const keys = z
    .object({ vapidPublicKey: z.string(), vapidPrivateKey: z.string() })
    .parse(JSON.parse(readFileSync(join(stateDir, 'keys.json'), 'utf8')))
  secrets.push(keys.vapidPrivateKey)
  service = await startPushService(keys.vapidPublicKey)
  served = await startServed({ stateDir, env: { BEADWATCH_PUSH_TEST_ORIGIN: service.origin } })
  cookie = await signIn()
}, 180_000)
afterAll(async () => {
  await served.stop()
  await service.close()
  removeStateDir(served.stateDir)
})

async function signIn(): Promise<string> {
  const hangar = await (await served.call('POST', '/v1/hangars', { name: 'Sparrow Meadow' })).json()
  const invite = await (
    await served.call('POST', `/v1/hangars/${hangar.id}/invites`, { role: 'watcher', name: 'Mira' })
  ).json()
  const accepted = await fetch(`${served.origin}/v1/invites/accept`, {
    method: 'POST',
    headers: { 'content-type': 'application/json', origin: served.origin },
    body: JSON.stringify({ token: invite.token }),
  })
  return (accepted.headers.get('set-cookie') ?? '').split(';')[0] ?? ''
}

async function asMira(method: string, path: string, body?: unknown) {
  const answer = await fetch(served.origin + path, {
    method,
    headers: {
      cookie,
      origin: served.origin,
      ...(body === undefined ? {} : { 'content-type': 'application/json' }),
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  })
  return { status: answer.status, body: await answer.json() }
}

const cases: readonly (readonly [string, Fault | null, string, unknown])[] = [
  ['201', null, 'taken', null],
  ['404', { status: 404 }, 'ended', 'gone'],
  ['410', { status: 410 }, 'ended', 'gone'],
  ['401', { status: 401 }, 'refused', 'refused-401'],
  ['403', { status: 403 }, 'refused', 'refused-403'],
  ['413', { status: 413 }, 'refused', 'too-large'],
  ['429', { status: 429, headers: { 'Retry-After': '60' } }, 'later', 'busy'],
  ['500', { status: 500 }, 'later', 'server-error'],
  [
    'a redirect to this very machine',
    { status: 307, headers: { Location: 'http://127.0.0.1:9/' } },
    'later',
    'redirect',
  ],
  // The local runtime's way out turns a reset into an answer of its own; what follows is the same.
  ['a connection reset', 'reset', 'later', expect.stringMatching(/^(connection|server-error)$/)],
  ['nothing within ten seconds', 'hang', 'later', 'time-out'],
]

test.each(cases)('%s', async (_, fault, outcome, failure) => {
  service.fail(() => fault)
  const before = service.requests()
  const { endpoint, p256dh, auth } = service.subscribe()
  const added = await asMira('POST', '/v1/devices', { subscription: { endpoint, keys: { p256dh, auth } } })
  secrets.push(endpoint, p256dh, auth)
  expect(added.status).toBe(201)
  answers.push(JSON.stringify(added.body))
  const tested = await asMira('POST', `/v1/devices/${added.body.id}/test`)
  expect(tested.body.outcome).toBe(outcome)
  expect(service.requests()).toBe(before + 1)
  const { items } = (await asMira('GET', '/v1/devices')).body
  expect(items.find((one: { id: string }) => one.id === added.body.id)).toMatchObject({ failure })
  expect(service.mistakes).toEqual([])
})

test('log and answers name neither the endpoints, nor the devices’ keys, nor the key that signs, nor the cookie', async () => {
  secrets.push(cookie.slice(cookie.indexOf('=') + 1))
  for (const path of ['/v1/devices', '/v1/me', '/v1/push/key', '/openapi.json'])
    answers.push(JSON.stringify((await asMira('GET', path)).body))
  expect(secrets.length).toBeGreaterThan(cases.length)
  for (const secret of secrets) {
    expect(secret.length).toBeGreaterThan(20)
    expect(served.output()).not.toContain(secret)
    expect(answers.join('\n')).not.toContain(secret)
  }
})
