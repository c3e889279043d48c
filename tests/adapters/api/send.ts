import { env } from 'cloudflare:workers'
import type { createApp } from '../../../src/adapters/http/app.ts'
import { ORIGIN } from '../people/world.ts'
import type { GeneratedPost } from './fuzz.ts'

/** Posts through the whole app, in this process. */
export async function send(app: ReturnType<typeof createApp>, post: GeneratedPost) {
  const plain = new TextEncoder().encode(post.text)
  const bytes = post.isZipped ? await zipped(plain) : plain
  const answer = await app.request(
    `${ORIGIN}${post.path}`,
    { method: 'POST', headers: post.headers, body: bytes },
    env,
  )
  const text = await answer.text()
  return {
    status: answer.status,
    contentType: answer.headers.get('content-type'),
    body: JSON.parse(text) as unknown,
  }
}

async function zipped(bytes: Uint8Array): Promise<Uint8Array> {
  const stream = new Blob([Uint8Array.from(bytes)]).stream().pipeThrough(new CompressionStream('gzip'))
  return new Uint8Array(await new Response(stream).arrayBuffer())
}
