/** The bytes of a post, unzipped if need be, never more than the limit: what inflates beyond it is cut off at once. */
import { BODY_MAX_BYTES } from '../../core/limits.ts'

export type PostBody =
  | {
      readonly ok: true
      readonly bytes: Uint8Array<ArrayBuffer>
      readonly text: string | null
      /** Why there is no text. Such a post is kept as it came: somebody has to see what the hub sends. */
      readonly whyNoText: string | null
    }
  | { readonly ok: false; readonly reason: 'too_large' | 'unknown_encoding' }

export async function readPostBody(request: Request): Promise<PostBody> {
  const encoding = (request.headers.get('content-encoding') ?? '').trim().toLowerCase()
  if (!['', 'identity', 'gzip', 'x-gzip'].includes(encoding)) return { ok: false, reason: 'unknown_encoding' }
  if (Number(request.headers.get('content-length') ?? 0) > BODY_MAX_BYTES)
    return { ok: false, reason: 'too_large' }
  if (request.body === null) return textOf(new Uint8Array())
  // A length that is given and small enough bounds the body: it is then read in one go, at a third of the cost.
  const isBounded = request.headers.has('content-length')
  const raw = isBounded ? new Uint8Array(await request.arrayBuffer()) : await collect(request.body)
  if (raw === null) return { ok: false, reason: 'too_large' }
  // Some hubs zip and do not say so: two bytes tell, and no readable body begins with them.
  const isZipped = encoding.endsWith('gzip') || (raw[0] === 0x1f && raw[1] === 0x8b)
  return isZipped ? unzip(raw) : textOf(raw)
}

async function unzip(raw: Uint8Array<ArrayBuffer>): Promise<PostBody> {
  try {
    const bytes = await collect(new Blob([raw]).stream().pipeThrough(new DecompressionStream('gzip')))
    return bytes === null ? { ok: false, reason: 'too_large' } : textOf(bytes)
  } catch {
    return { ok: true, bytes: raw, text: null, whyNoText: 'the body is not valid gzip' }
  }
}

/** `null` beyond the limit: the rest is not even read. */
async function collect(stream: ReadableStream<Uint8Array>): Promise<Uint8Array<ArrayBuffer> | null> {
  const reader = stream.getReader()
  const parts: Uint8Array[] = []
  let length = 0
  for (;;) {
    const { done, value } = await reader.read()
    if (done) break
    length += value.length
    if (length > BODY_MAX_BYTES) {
      await reader.cancel()
      return null
    }
    parts.push(value)
  }
  const bytes = new Uint8Array(length)
  let offset = 0
  for (const part of parts) {
    bytes.set(part, offset)
    offset += part.length
  }
  return bytes
}

function textOf(bytes: Uint8Array<ArrayBuffer>): PostBody {
  try {
    return {
      ok: true,
      bytes,
      text: new TextDecoder('utf-8', { fatal: true, ignoreBOM: false }).decode(bytes),
      whyNoText: null,
    }
  } catch {
    return { ok: true, bytes, text: null, whyNoText: 'the body is not UTF-8 text' }
  }
}
