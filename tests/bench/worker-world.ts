/**
 * The built Worker and, beside it, one that only parses and inserts: in one runtime process, over one database file,
 * called the same way. What the machine is doing meanwhile meets both.
 */
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { convertV4MiniflareOptions, Log, LogLevel, Miniflare } from 'miniflare'
import { unstable_getMiniflareWorkerOptions as bindingsOf } from 'wrangler'
import { buildWorkerIfNeeded, readWorker, workerFile } from '../../clients/local/build-worker.ts'
import { migrate } from '../../clients/local/migrate.ts'
import { projectDir } from '../../clients/local/paths.ts'

export const HOST_TOKEN = 'host-token-of-the-bench-0123456789'

/** The least that a service taking readings can do: read JSON, insert, say how many. No key, no checks, no answer worth the name. */
const BARE = `
export default {
  async fetch(request, env) {
    const body = await request.json()
    const rows = (Array.isArray(body) ? body : [body]).map((r) =>
      [1, ['return', 'supply', 'ambient', 'engine'].indexOf(r.place), Math.floor(Date.parse(r.at) / 1000), Math.round(r.humidity * 100), Math.round(r.temperature * 100), r.pump ? 1 : 0, null])
    const done = await env.DB.prepare(
      "INSERT INTO bare SELECT value->>0, value->>1, value->>2, value->>3, value->>4, value->>5, value->>6 FROM json_each(?1) WHERE true ON CONFLICT DO NOTHING"
    ).bind(JSON.stringify(rows)).run()
    return Response.json({ stored: done.meta.changes })
  },
}`

const BARE_TABLE = `
  CREATE TABLE bare (
    rig_id INTEGER NOT NULL, place INTEGER NOT NULL, at_s INTEGER NOT NULL, humidity_centi_pct INTEGER,
    temp_centi_c INTEGER, pump_on INTEGER, power_deci_w INTEGER, PRIMARY KEY (rig_id, place, at_s)
  ) STRICT, WITHOUT ROWID`

export async function makeWorkerWorld() {
  buildWorkerIfNeeded()
  const stateDir = mkdtempSync(join(tmpdir(), 'beadwatch-bench-'))
  const runtime = new Miniflare(describe(stateDir))
  await runtime.ready
  const db = await runtime.getD1Database('DB', 'beadwatch')
  await migrate(db)
  await db.prepare(BARE_TABLE).run()
  const [ours, bare] = [await runtime.getWorker('beadwatch'), await runtime.getWorker('bare')]
  return {
    db,
    ours,
    /** Where the Worker is served on loopback, for programs. */
    origin: (await runtime.ready).origin,
    bare: (body: string) => bare.fetch('http://localhost/', { method: 'POST', body }),
    asHost: (path: string, body?: unknown) => call(ours, { path, body, bearer: HOST_TOKEN }),
    stop: async () => {
      await runtime.dispose()
      rmSync(stateDir, { recursive: true, force: true })
    },
  }
}

type Fetcher = Awaited<ReturnType<Miniflare['getWorker']>>

async function call(
  worker: Fetcher,
  of: { path: string; body?: unknown; bearer: string },
): Promise<{ id: string; key: string }> {
  const answer = await worker.fetch(`http://localhost${of.path}`, {
    method: 'POST',
    headers: { authorization: `Bearer ${of.bearer}`, 'content-type': 'application/json' },
    ...(of.body === undefined ? {} : { body: JSON.stringify(of.body) }),
  })
  if (answer.status !== 201) throw new Error(`${of.path}: ${answer.status} ${await answer.text()}`)
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- our own service, over its own schema
  return (await answer.json()) as { id: string; key: string }
}

function describe(stateDir: string) {
  const { modulesRules: _, ...worker } = bindingsOf(join(projectDir, 'wrangler.toml')).workerOptions
  const database = worker.d1Databases
  const bindings = Object.assign({}, worker.bindings, { PLAN: 'paid', HOST_TOKEN })
  // The bench posts faster than any hub: the burst limit is not what it measures.
  const simple = { limit: 1_000_000, period: 60 as const }
  const ratelimits = {
    BURST: { namespace_id: '1001', simple },
    ATTEMPTS: { namespace_id: '1002', simple },
  }
  const options = {
    host: '127.0.0.1',
    port: 0,
    cf: false,
    log: new Log(LogLevel.ERROR),
    logRequests: false,
    workers: [
      {
        ...worker,
        name: 'beadwatch',
        bindings,
        ratelimits,
        modules: [{ type: 'ESModule', path: workerFile, contents: readWorker() }],
      },
      {
        name: 'bare',
        compatibilityDate: '2026-08-04',
        modules: true,
        script: BARE,
        d1Databases: database ?? {},
      },
    ],
  }
  return {
    // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- checked by the runtime's own schema
    ...convertV4MiniflareOptions(options as Parameters<typeof convertV4MiniflareOptions>[0]),
    resourcePersistencePath: stateDir,
  }
}

export function median(values: readonly number[]): number {
  return quantile(values, 0.5)
}

/** By the nearest rank. */
export function quantile(values: readonly number[], p: number): number {
  const sorted = values.toSorted((a, b) => a - b)
  return sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))] ?? Number.NaN
}
