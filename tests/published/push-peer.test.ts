/**
 * A second opinion on the messages that go out: the push service of the package web-push-testing checks their headers,
 * the VAPID signature and the encryption with other code than ours and than our own test service.
 */
import { expect, test } from 'vitest'
import webPush from 'web-push'
import { PushApiModel } from 'web-push-testing/src/PushApiModel.js'
import { pushSender } from '../../src/adapters/push/send.ts'
import { testMessage } from '../../src/core/messages/message.ts'

const keys = { ...webPush.generateVAPIDKeys(), contact: 'mailto:host@airfield.example' }

async function makePeer() {
  const service = new PushApiModel()
  service.notifyUrl = 'https://fcm.googleapis.com/notify/'
  const {
    endpoint,
    keys: browser,
    clientHash,
  } = await service.subscribe({
    userVisibleOnly: 'true',
    applicationServerKey: keys.publicKey,
  })
  const answer: typeof fetch = async (to, init) => {
    const request = new Request(to, init)
    const text = (name: string) => request.headers.get(name) ?? ''
    const headers = {
      encoding: text('content-encoding'),
      encryption: undefined,
      cryptoKey: undefined,
      authorization: text('authorization'),
      ttl: text('ttl'),
    }
    await service.handleNotification(clientHash, headers, Buffer.from(await request.arrayBuffer()))
    return new Response(null, { status: 201 })
  }
  const send = pushSender({
    keys,
    rules: { addedHosts: [], testOrigin: null },
    fetch: answer,
    nowMs: Date.now,
  })
  return { service, clientHash, send, subscription: { endpoint, p256dh: browser.p256dh, auth: browser.auth } }
}

const message = testMessage({ id: 'd1', name: 'phone' }, 1_764_057_600)

test('it takes our message and reads what we wrote', async () => {
  const { service, clientHash, send, subscription } = await makePeer()
  const answer = await send({ subscription, message, origin: 'https://dry.example', maxBytes: 3000 })
  expect(answer).toMatchObject({ kind: 'answered', status: 201 })
  const [text = ''] = service.getNotifications({ clientHash }).messages
  expect(JSON.parse(text)).toMatchObject({
    web_push: 8030,
    notification: { title: 'Beadwatch can reach this device', navigate: 'https://dry.example/messages' },
  })
})

test('it refuses a message signed with another key: the check above could have failed', async () => {
  const { service, clientHash, subscription } = await makePeer()
  const problems: unknown[] = []
  const forger = pushSender({
    keys: { ...webPush.generateVAPIDKeys(), contact: keys.contact },
    rules: { addedHosts: [], testOrigin: null },
    fetch: async (to, init) => {
      const request = new Request(to, init)
      const headers = {
        encoding: 'aes128gcm',
        encryption: undefined,
        cryptoKey: undefined,
        authorization: request.headers.get('authorization') ?? '',
        ttl: '60',
      }
      await service
        .handleNotification(clientHash, headers, Buffer.from(await request.arrayBuffer()))
        .catch((error: unknown) => problems.push(error))
      return new Response(null, { status: 403 })
    },
    nowMs: Date.now,
  })
  await forger({ subscription, message, origin: 'https://dry.example', maxBytes: 3000 })
  expect(problems).toHaveLength(1)
  expect(service.getNotifications({ clientHash }).messages).toEqual([])
})
