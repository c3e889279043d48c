import { createECDH, randomBytes, type ECDH } from 'node:crypto'
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http'
import { decrypt } from 'http_ece'
import { importJWK, jwtVerify } from 'jose'

/**
 * A push service on loopback that does what RFC 8030 asks of one: it checks the VAPID token (jose), decrypts the
 * message as the browser would (http_ece, neither of them used for sending), keeps it, and fails when told to.
 */

export type Received = {
  readonly subscription: string
  readonly text: string
  readonly headers: Readonly<Record<string, string | undefined>>
  readonly claims: { readonly aud?: unknown; readonly exp?: number; readonly sub?: string }
  readonly bytes: number
}

export type Fault =
  | { readonly status: number; readonly headers?: Record<string, string> }
  | 'hang'
  | 'reset'
  /** Takes the message, shows it, and loses the connection before answering. */
  | 'take-and-reset'

type Browser = { readonly ecdh: ECDH; readonly auth: Buffer }

export type PushService = {
  readonly origin: string
  readonly received: Received[]
  /** Requests that were refused because token or encryption was wrong: must stay empty. */
  readonly mistakes: string[]
  readonly requests: () => number
  subscribe(): {
    readonly name: string
    readonly endpoint: string
    readonly p256dh: string
    readonly auth: string
  }
  /** Asked before each request; `null` is a good answer. */
  fail(by: (request: { readonly subscription: string; readonly nth: number }) => Fault | null): void
  close(): Promise<void>
}

const noFault = () => null

export async function startPushService(vapidPublicKey: string): Promise<PushService> {
  const browsers = new Map<string, Browser>()
  const received: Received[] = []
  const mistakes: string[] = []
  let fault: Parameters<PushService['fail']>[0] = noFault
  let requests = 0

  const server = createServer((request, response) => {
    requests += 1
    const subscription = (request.url ?? '').slice('/push/'.length)
    const what = fault({ subscription, nth: requests })
    void answer(request, response, subscription, what)
  })

  async function answer(
    request: IncomingMessage,
    response: ServerResponse,
    subscription: string,
    what: Fault | null,
  ) {
    const body = await bodyOf(request)
    if (what === 'hang') return
    if (what === 'reset') {
      request.socket.destroy()
      return
    }
    if (what !== null && typeof what === 'object') {
      response.writeHead(what.status, what.headers).end()
      return
    }
    const browser = browsers.get(subscription)
    if (!browser) {
      response.writeHead(404).end()
      return
    }
    try {
      received.push(await read(request, body, subscription, browser))
    } catch (error) {
      mistakes.push(String(error))
      response.writeHead(403).end()
      return
    }
    if (what === 'take-and-reset') request.socket.destroy()
    else response.writeHead(201, { Location: `${origin}/message/${requests}` }).end()
  }

  async function read(
    request: IncomingMessage,
    body: Buffer,
    subscription: string,
    browser: Browser,
  ): Promise<Received> {
    const claims = await verify(request.headers.authorization ?? '')
    if (request.headers['content-encoding'] !== 'aes128gcm')
      throw new Error('Content-Encoding is not aes128gcm')
    if (!/^\d+$/.test(String(request.headers.ttl))) throw new Error('TTL is missing')
    const text = decrypt(body, {
      version: 'aes128gcm',
      privateKey: browser.ecdh,
      authSecret: browser.auth.toString('base64url'),
    }).toString('utf8')
    const headers: Record<string, string | undefined> = {}
    for (const name of ['ttl', 'topic', 'urgency', 'content-encoding']) {
      headers[name] = request.headers[name]?.toString()
    }
    return { subscription, text, headers, claims, bytes: body.length }
  }

  async function verify(authorization: string) {
    const match = /^vapid t=([^,]+), ?k=(.+)$/.exec(authorization)
    if (!match?.[1] || !match[2]) throw new Error('no VAPID header')
    if (match[2] !== vapidPublicKey) throw new Error('another key than the one subscribed with')
    const point = Buffer.from(match[2], 'base64url')
    const key = await importJWK(
      {
        kty: 'EC',
        crv: 'P-256',
        x: point.subarray(1, 33).toString('base64url'),
        y: point.subarray(33).toString('base64url'),
      },
      'ES256',
    )
    const { payload } = await jwtVerify(match[1], key, { audience: origin })
    if (typeof payload.exp !== 'number' || payload.exp > Date.now() / 1000 + 86_400)
      throw new Error('the token lives too long')
    return payload
  }

  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  const address = server.address()
  if (address === null || typeof address === 'string') throw new Error('no port')
  const origin = `http://127.0.0.1:${address.port}`
  return {
    origin,
    received,
    mistakes,
    requests: () => requests,
    subscribe() {
      const ecdh = createECDH('prime256v1')
      ecdh.generateKeys()
      const auth = randomBytes(16)
      const name = randomBytes(16).toString('hex')
      browsers.set(name, { ecdh, auth })
      return {
        name,
        endpoint: `${origin}/push/${name}`,
        p256dh: ecdh.getPublicKey('base64url'),
        auth: auth.toString('base64url'),
      }
    },
    fail(by) {
      fault = by
    },
    async close() {
      server.closeAllConnections()
      await new Promise((resolve) => server.close(resolve))
    },
  }
}

async function bodyOf(request: IncomingMessage): Promise<Buffer> {
  const parts: Buffer[] = []
  for await (const part of request) parts.push(Buffer.from(part))
  return Buffer.concat(parts)
}
