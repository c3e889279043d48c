/**
 * The bundled Worker on the platform's own queues, with a rig whose check takes the whole invocation with it: its batch
 * dies until the platform gives it up, and the dead letter is taken apart until that rig alone is left out.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { convertV4MiniflareOptions, Log, LogLevel, Miniflare } from 'miniflare'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { unstable_getMiniflareWorkerOptions as bindingsOf } from 'wrangler'
import { buildWorkerIfNeeded, readWorker, workerFile } from '../../clients/local/build-worker.ts'
import { migrate } from '../../clients/local/migrate.ts'
import { projectDir } from '../../clients/local/paths.ts'

const HOST_TOKEN = 'host-token-of-the-test-0123456789'
const DEADLY = 2

/** Dies as an invocation does that runs out of time or memory: nothing in the Worker gets to catch it. */
const DYING = `
import worker from './index.js'
export default {
  ...worker,
  queue(batch, env, context) {
    if (batch.queue.endsWith('-work') && batch.messages.some(({ body }) => body.rigKeys?.includes(${DEADLY})))
      throw new Error('out of time')
    return worker.queue(batch, env, context)
  },
}`

let runtime: Miniflare
const stateDir = mkdtempSync(join(tmpdir(), 'beadwatch-dead-'))

beforeAll(async () => {
  buildWorkerIfNeeded()
  const { modulesRules: _, ...worker } = bindingsOf(join(projectDir, 'wrangler.toml')).workerOptions
  const modules = [
    { type: 'ESModule' as const, path: join(dirname(workerFile), 'dying.js'), contents: DYING },
    { type: 'ESModule' as const, path: workerFile, contents: readWorker() },
  ]
  const bindings = Object.assign({}, worker.bindings, { HOST_TOKEN })
  runtime = new Miniflare({
    ...convertV4MiniflareOptions({
      host: '127.0.0.1',
      port: 0,
      cf: false,
      log: new Log(LogLevel.NONE),
      logRequests: false,
      handleRuntimeStdio: () => undefined,
      workers: [{ ...worker, name: 'beadwatch', bindings, modules }],
    }),
    resourcePersistencePath: stateDir,
  })
  await runtime.ready
  await migrate(await runtime.getD1Database('DB'))
}, 120_000)

afterAll(async () => {
  await runtime.dispose()
  rmSync(stateDir, { recursive: true, force: true })
})

async function call(path: string, body?: object, bearer = HOST_TOKEN) {
  const worker = await runtime.getWorker()
  const answer = await worker.fetch(`http://localhost${path}`, {
    method: body === undefined ? 'GET' : 'POST',
    headers: { authorization: `Bearer ${bearer}`, 'content-type': 'application/json' },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  })
  // oxlint-disable-next-line typescript/no-explicit-any, typescript/no-unsafe-type-assertion -- a test looks into answers of every form
  return (await answer.json()) as any
}

type RigRow = { rig_id: number; grid_s: number; set_back_until_s: number | null; failure: string | null }

async function rigRows(): Promise<readonly RigRow[]> {
  const db = await runtime.getD1Database('DB')
  const found = await db
    .prepare('SELECT rig_id, grid_s, set_back_until_s, failure FROM memory ORDER BY rig_id')
    .all<RigRow>()
  return found.results
}

test('a batch that always dies ends as a dead letter: the others are checked, the deadly rig is set back and shown', async () => {
  const hangar = (await call('/v1/hangars', { name: 'Row' })).id
  const slugs = ['kestrel', 'plover', 'heron']
  for (const slug of slugs)
    await call(`/v1/hangars/${hangar}/rigs`, { name: slug, slug, settings: { band: { start: 15, stop: 6 } } })
  const source = (await call(`/v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: slugs })).id
  const { key } = await call(`/v1/sources/${source}/keys`, {})
  const nowS = Math.floor(Date.now() / 1000)
  const readings = slugs.flatMap((rig) =>
    [3600, 3000, 2400].map((agoS) => ({ rig, at: nowS - agoS, humidity: 9, temperature: 18 })),
  )
  expect(await call('/v1/readings', { readings }, key)).toMatchObject({ stored: 9 })

  const rigKeys = (await rigRows()).map(({ rig_id }) => rig_id)
  expect(rigKeys).toContain(DEADLY)
  const work = await runtime.getQueueProducer('WORK')
  await work.send({ kind: 'check', shard: 0, rigKeys, scheduledS: nowS })

  await expect
    .poll(async () => (await rigRows()).filter(({ set_back_until_s }) => set_back_until_s !== null), {
      timeout: 45_000,
      interval: 250,
    })
    .toHaveLength(1)
  for (const row of await rigRows()) {
    const isDeadly = row.rig_id === DEADLY
    expect(row.failure).toBe(isDeadly ? 'the check never came to its end' : null)
    expect(row.set_back_until_s).toBe(isDeadly ? nowS + 3600 : null)
    expect(row.grid_s > 0).toBe(!isDeadly)
  }
  // The host sees both: how many rigs are left out, and that messages were given up (the batch, then the rig alone).
  expect((await call('/healthz')).host).toMatchObject({
    rigsSetBack: 1,
    errors: { 'queue-message-dead': 2 },
  })

  // When its hour is over the schedule takes it up again.
  const worker = await runtime.getWorker()
  await worker.scheduled({ scheduledTime: new Date((nowS + 3900) * 1000), cron: '*/5 * * * *' })
  expect((await rigRows()).find(({ rig_id }) => rig_id === DEADLY)).toMatchObject({
    set_back_until_s: null,
    failure: null,
    grid_s: Math.floor((nowS + 3900 - 600) / 300) * 300,
  })
}, 120_000)
