import webPush from 'web-push'
import { PUSH_TIME_OUT_MS, PUSH_TTL_S } from '../../core/limits.ts'
import type { PushAnswer } from '../../core/messages/answer.ts'
import type { Message } from '../../core/messages/message.ts'
import { payloadOf } from '../../core/messages/payload.ts'
import type { SendPush } from '../../flows/message-ports.ts'
import { endpointProblem, type EndpointRules } from '../../flows/push-endpoint.ts'
import { retryAfterS } from './retry-after.ts'
import { vapidSigner, type VapidKeys } from './vapid.ts'

/** The library would sign a token for each message: ours is kept. Its types do not say that it takes null. */
const UNSIGNED: object = { vapidDetails: null }

/** RFC 8030 section 5.3: what a phone on a low battery may hold back. */
const URGENCY = { now: 'high', visit: 'normal', note: 'low', over: 'low' } as const

/**
 * Posts messages by RFC 8030, encrypted by RFC 8291, signed by RFC 8292.
 * `nowMs` is the wall clock: tokens and HTTP dates are about real time, whatever time the schedule stands for.
 */
export function pushSender(config: {
  readonly keys: VapidKeys
  readonly rules: EndpointRules
  readonly fetch: typeof fetch
  readonly nowMs: () => number
  /** A request that takes longer is given up; `PUSH_TIME_OUT_MS` unless a test is in a hurry. */
  readonly timeOutMs?: number
  readonly onError?: (error: Error) => void
}): SendPush {
  const signer = vapidSigner(config.keys)
  return async (request) => {
    // Checked again here: the list may have become shorter since the device was added.
    if (endpointProblem(request.subscription.endpoint, config.rules)) {
      return { kind: 'answered', status: 403, retryAfterS: null }
    }
    const details = await prepared(request, signer, config.nowMs())
    if (details instanceof Error) {
      config.onError?.(details)
      return { kind: 'no-answer', why: 'unsendable' }
    }
    return post(details, config)
  }
}

/** The request, or why it cannot be made: a damaged key in one device or in the settings must not stop the others. */
async function prepared(
  { subscription, message, origin, maxBytes }: Parameters<SendPush>[0],
  signer: ReturnType<typeof vapidSigner>,
  nowMs: number,
): Promise<webPush.RequestDetails | Error> {
  const { endpoint, p256dh, auth } = subscription
  try {
    const token = signer.authorization(new URL(endpoint).origin, Math.floor(nowMs / 1000))
    const options = {
      headers: { Authorization: token },
      TTL: PUSH_TTL_S[message.urgency],
      urgency: URGENCY[message.urgency],
      topic: await topicOf(message),
    }
    return webPush.generateRequestDetails(
      { endpoint, keys: { p256dh, auth } },
      payloadOf(message, origin, maxBytes),
      Object.assign(options, UNSIGNED),
    )
  } catch (error) {
    return error instanceof Error ? error : new Error('the message could not be made', { cause: error })
  }
}

async function post(
  details: webPush.RequestDetails,
  config: {
    readonly fetch: typeof fetch
    readonly nowMs: () => number
    readonly timeOutMs?: number
  },
): Promise<PushAnswer> {
  const { fetch } = config
  const signal = AbortSignal.timeout(config.timeOutMs ?? PUSH_TIME_OUT_MS)
  try {
    const answer = await fetch(details.endpoint, {
      method: 'POST',
      headers: sentHeaders(details.headers),
      body: new Uint8Array(details.body ?? []),
      redirect: 'manual',
      signal,
    })
    // The body says nothing we use, but an unread one holds the connection.
    await answer.body?.cancel()
    const { status } = answer
    return {
      kind: 'answered',
      status,
      retryAfterS: retryAfterS(answer.headers.get('Retry-After'), config.nowMs()),
    }
  } catch {
    return { kind: 'no-answer', why: signal.aborted ? 'time-out' : 'connection' }
  }
}

/** Header values as text; the length is the runtime's to set. */
function sentHeaders(headers: Readonly<Record<string, unknown>>): Record<string, string> {
  const sent: Record<string, string> = {}
  for (const [name, value] of Object.entries(headers)) {
    if (name !== 'Content-Length') sent[name] = String(value)
  }
  return sent
}

/**
 * RFC 8030 section 5.4: a newer message with the same topic replaces one that still waits at the push service.
 * At most 32 letters and digits, and it is not encrypted: a hash tells the service nothing.
 */
export async function topicOf(message: Message): Promise<string> {
  const bytes = new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(message.tag)))
  return [...bytes.subarray(0, 16)].map((byte) => byte.toString(16).padStart(2, '0')).join('')
}
