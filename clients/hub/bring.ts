/**
 * Brings a hangar in from the file that `GET /v1/hangars/{hangar}/export` gave.
 *   npm run -s bring -- --token HOST_TOKEN [--url URL] [--shard N] FILE
 */
import { createReadStream } from 'node:fs'
import { createInterface } from 'node:readline'
import { parseArgs } from 'node:util'
import { bringHangar, type Call } from './bring-hangar.ts'

const usage = 'usage: npm run -s bring -- --token HOST_TOKEN [--url http://localhost:8787] [--shard N] FILE'

function callTo(origin: string): Call {
  return async ({ method, path, bearer, contentType, body }) => {
    const answer = await fetch(origin + path, {
      method,
      headers: { authorization: `Bearer ${bearer}`, ...(body === '' ? {} : { 'content-type': contentType }) },
      ...(body === '' ? {} : { body }),
      redirect: 'error',
      signal: AbortSignal.timeout(60_000),
    })
    const after = Number(answer.headers.get('retry-after') ?? Number.NaN)
    return {
      status: answer.status,
      text: await answer.text(),
      retryAfterS: Number.isFinite(after) ? after : null,
    }
  }
}

try {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      url: { type: 'string', default: 'http://localhost:8787' },
      token: { type: 'string' },
      shard: { type: 'string' },
    },
  })
  const [file] = positionals
  if (file === undefined || values.token === undefined) throw new Error(usage)
  const lines = createInterface({ input: createReadStream(file, { encoding: 'utf8' }) })
  const brought = await bringHangar(lines, {
    call: callTo(new URL(values.url).origin),
    hostToken: values.token,
    ...(values.shard === undefined ? {} : { shard: Number(values.shard) }),
  })
  console.log(JSON.stringify(brought))
  if (brought.sources.length > 0) console.error(`Each source needs a new key: ${brought.sources.join(', ')}`)
  if (brought.leftOut.length > 0)
    console.error(`Left out, since they served no rig any more: ${brought.leftOut.join(', ')}`)
} catch (error) {
  console.error(error instanceof Error ? error.message : String(error))
  process.exitCode = 1
}
