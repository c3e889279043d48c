import webPush from 'web-push'
import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { pushSender } from '../../../src/adapters/push/send.ts'
import { judgeAnswer } from '../../../src/core/messages/answer.ts'
import { alertMessage } from '../../../src/core/messages/message.ts'
import { startPushService, type Fault, type PushService } from '../../peers/push-service.ts'

const keys = { ...webPush.generateVAPIDKeys(), contact: 'mailto:host@airfield.example' }
let service: PushService

beforeAll(async () => {
  service = await startPushService(keys.publicKey)
})
afterAll(() => service.close())
beforeEach(() => {
  service.fail(() => null)
  service.received.length = 0
})

const message = alertMessage({
  kind: 'raised',
  urgency: 'now',
  alert: 'al-7',
  atS: 1_764_057_600,
  rig: 'rig-3',
  words: { title: 'Heron: pump on', body: 'The pump runs, the air does not get drier: 14.1 % for 6 h.' },
})

function sender(change: Partial<Parameters<typeof pushSender>[0]> = {}) {
  return pushSender({
    keys,
    rules: { addedHosts: [], testOrigin: service.origin },
    fetch,
    nowMs: Date.now,
    timeOutMs: 300,
    ...change,
  })
}

function send(with_ = sender(), to = service.subscribe(), maxBytes = 3000) {
  return with_({ subscription: to, message, origin: 'https://dry.example', maxBytes })
}

test('a message arrives signed, encrypted for that browser alone, and with its lifetime', async () => {
  expect(await send()).toEqual({ kind: 'answered', status: 201, retryAfterS: null })
  expect(service.mistakes).toEqual([])
  const [got] = service.received
  expect(JSON.parse(got?.text ?? '')).toEqual({
    web_push: 8030,
    notification: {
      title: 'Heron: pump on',
      lang: 'en',
      body: 'The pump runs, the air does not get drier: 14.1 % for 6 h.',
      navigate: 'https://dry.example/rigs/rig-3',
      tag: 'al-7',
      renotify: true,
      requireInteraction: true,
      data: { id: 'al-7/raised/1764057600', urgency: 'now' },
    },
  })
  expect(got?.headers).toMatchObject({ ttl: '259200', urgency: 'high' })
  expect(got?.headers.topic).toMatch(/^[a-z0-9]{32}$/)
  expect(got?.claims).toMatchObject({ aud: service.origin, sub: 'mailto:host@airfield.example' })
})

test('one token serves many messages, and a new one is signed before the old one ends', async () => {
  let nowMs = Date.now() - 11.5 * 3_600_000
  const tokens: string[] = []
  const once = sender({
    nowMs: () => nowMs,
    fetch: (url, init) => {
      tokens.push(new Headers(init?.headers).get('Authorization') ?? '')
      return fetch(url, init)
    },
  })
  await send(once)
  await send(once)
  nowMs += 11.5 * 3_600_000
  await send(once)
  expect(tokens[0]).toBe(tokens[1])
  expect(tokens[2]).not.toBe(tokens[0])
  expect(service.mistakes).toEqual([])
})

const inTwoMinutes = () => new Date(Math.ceil(Date.now() / 1000) * 1000 + 120_000).toUTCString()

describe('what the service answers', () => {
  const cases: readonly (readonly [string, () => Fault, object])[] = [
    ['404', () => ({ status: 404 }), { kind: 'gone' }],
    ['410', () => ({ status: 410 }), { kind: 'gone' }],
    ['401', () => ({ status: 401 }), { kind: 'refused', status: 401 }],
    ['403', () => ({ status: 403 }), { kind: 'refused', status: 403 }],
    ['400', () => ({ status: 400 }), { kind: 'refused', status: 400 }],
    ['413', () => ({ status: 413 }), { kind: 'too-large' }],
    [
      '429 with seconds',
      () => ({ status: 429, headers: { 'Retry-After': '90' } }),
      { kind: 'later', why: 'busy', retryAfterS: 90 },
    ],
    [
      '429 with a date',
      () => ({ status: 429, headers: { 'Retry-After': inTwoMinutes() } }),
      { kind: 'later', why: 'busy', retryAfterS: expect.toSatisfy((s: number) => s >= 119 && s <= 121) },
    ],
    ['429 without either', () => ({ status: 429 }), { kind: 'later', why: 'busy', retryAfterS: null }],
    ['500', () => ({ status: 500 }), { kind: 'later', why: 'server-error' }],
    [
      '503 with seconds',
      () => ({ status: 503, headers: { 'Retry-After': '5' } }),
      { kind: 'later', why: 'server-error', retryAfterS: 5 },
    ],
    ['nothing in time', () => 'hang', { kind: 'later', why: 'time-out' }],
    ['a connection reset', () => 'reset', { kind: 'later', why: 'connection' }],
  ]
  test.each(cases)('%s', async (_, fault, outcome) => {
    service.fail(fault)
    expect(judgeAnswer(await send())).toMatchObject(outcome)
  })

  test('a redirect is not followed', async () => {
    const before = service.requests()
    service.fail(({ nth }) =>
      nth === before + 1
        ? { status: 307, headers: { Location: `${service.origin}/push/elsewhere` } }
        : { status: 201 },
    )
    expect(judgeAnswer(await send())).toMatchObject({ kind: 'later', why: 'redirect' })
    expect(service.requests()).toBe(before + 1)
  })

  test('a closed port', async () => {
    const gone = await startPushService(keys.publicKey)
    const to = gone.subscribe()
    await gone.close()
    const answer = await send(sender({ rules: { addedHosts: [], testOrigin: gone.origin } }), to)
    expect(judgeAnswer(answer)).toMatchObject({ kind: 'later', why: 'connection' })
  })
})

test('an endpoint that is no longer on the list gets no request', async () => {
  const before = service.requests()
  const answer = await send(sender({ rules: { addedHosts: [], testOrigin: null } }))
  expect(judgeAnswer(answer)).toMatchObject({ kind: 'refused', status: 403 })
  expect(service.requests()).toBe(before)
})

test('a damaged key is reported and stops nothing', async () => {
  const errors: string[] = []
  const answer = await send(sender({ onError: (error) => errors.push(error.message) }), {
    ...service.subscribe(),
    p256dh: 'AAAA',
  })
  expect(judgeAnswer(answer)).toMatchObject({ kind: 'later', why: 'unsendable' })
  expect(errors[0]).toContain('p256dh')
})
