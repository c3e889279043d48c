import type { Answer } from './answer.ts'

/** Where a hub posts, and with which key. */
export type Target = { readonly origin: string; readonly key: string }

export type Post = {
  readonly contentType: string
  readonly body: string | Uint8Array<ArrayBuffer>
  readonly isZipped: boolean
}

export type Sent =
  | { readonly kind: 'taken'; readonly answer: Answer }
  /** The same post would be refused again. */
  | { readonly kind: 'refused'; readonly status: number; readonly why: string }
  /** Nobody knows whether it arrived, or it is too early: send the same again. */
  | { readonly kind: 'later'; readonly afterMs: number | null; readonly why: string }

const sendTimeoutMs = 60_000
const tryAgain = new Set([408, 425, 429])

/** Posts once. Never throws for what a network or a service can do. */
export async function sendPost(target: Target, post: Post): Promise<Sent> {
  try {
    const asked = fetch(`${target.origin}/v1/readings`, {
      method: 'POST',
      headers: {
        authorization: `Bearer ${target.key}`,
        'content-type': post.contentType,
        ...(post.isZipped ? { 'content-encoding': 'gzip' } : {}),
      },
      body: post.body,
      redirect: 'error',
      signal: AbortSignal.timeout(sendTimeoutMs),
    })
    asked.catch(() => undefined)
    // Loaded while the service is at work on the first post.
    const { readAnswer } = await import('./answer.ts')
    const answer = await asked
    const text = await answer.text()
    if (answer.status === 200) return { kind: 'taken', answer: readAnswer(text) }
    const why = `${answer.status} ${text.slice(0, 300)}`
    if (answer.status < 500 && !tryAgain.has(answer.status))
      return { kind: 'refused', status: answer.status, why }
    return { kind: 'later', afterMs: retryAfterMs(answer.headers.get('retry-after')), why }
  } catch (error) {
    return { kind: 'later', afterMs: null, why: error instanceof Error ? error.message : String(error) }
  }
}

/** RFC 9110 section 10.2.3: seconds or a date. */
function retryAfterMs(text: string | null): number | null {
  if (text === null) return null
  if (/^\d+$/.test(text)) return Number(text) * 1000
  const at = Date.parse(text)
  return Number.isNaN(at) ? null : Math.max(0, at - Date.now())
}
