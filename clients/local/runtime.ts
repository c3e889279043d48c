/** The platform on one machine: the bundled Worker with its database, queue and assets, and nothing else. */
import { join } from 'node:path'
import { convertV4MiniflareOptions, Log, LogLevel, Miniflare, Response, type Request } from 'miniflare'
import { unstable_getMiniflareWorkerOptions as bindingsOf } from 'wrangler'
import { readWorker, workerFile } from './build-worker.ts'
import { migrate } from './migrate.ts'
import { fetchPublic } from './outbound.ts'
import { projectDir } from './paths.ts'
import { StartError } from './start-error.ts'

export type RuntimeOptions = {
  readonly stateDir: string
  /** Secrets and settings, beside the bindings of wrangler.toml. */
  readonly vars: Readonly<Record<string, string>>
}

export type Runtime = {
  readonly url: URL
  /** Runs the schedule as of `atS` (Unix seconds), as the platform's cron trigger would. */
  readonly tick: (atS: number) => Promise<void>
  readonly queryFirst: (sql: string) => Promise<Record<string, unknown> | null>
  readonly stop: () => Promise<void>
}

/** @throws StartError when the database in the state folder cannot be opened or migrated */
export async function startRuntime({ stateDir, vars }: RuntimeOptions): Promise<Runtime> {
  const runtime = new Miniflare(describe(stateDir, vars))
  try {
    const url = await runtime.ready
    await migrateAll(runtime, stateDir)
    const worker = await runtime.getWorker()
    const db = await runtime.getD1Database('DB')
    return {
      url,
      tick: async (atS) => {
        const { outcome } = await worker.scheduled({
          scheduledTime: new Date(atS * 1000),
          cron: '*/5 * * * *',
        })
        if (outcome !== 'ok') throw new Error(`the schedule ended with ${outcome}`)
      },
      queryFirst: (sql) => db.prepare(sql).first(),
      stop: () => runtime.dispose(),
    }
  } catch (error) {
    await runtime.dispose().catch(() => undefined)
    throw error
  }
}

function read() {
  return bindingsOf(join(projectDir, 'wrangler.toml')).workerOptions
}

function describe(stateDir: string, vars: Readonly<Record<string, string>>) {
  const { modulesRules: _, ...worker } = read()
  const options = convertV4MiniflareOptions({
    host: '127.0.0.1',
    port: 0,
    // No look-up of where this machine is.
    cf: false,
    log: new Log(LogLevel.ERROR),
    logRequests: false,
    workers: [
      {
        ...worker,
        name: 'beadwatch',
        bindings: Object.assign({}, worker.bindings, vars),
        outboundService: (request: Request) => goOut(request, vars['PUSH_TEST_ORIGIN'] ?? null),
        modules: [{ type: 'ESModule', path: workerFile, contents: readWorker() }],
      },
    ],
  })
  return {
    ...options,
    resourcePersistencePath: stateDir,
    // The tools under /cdn-cgi stay off; the front refuses the paths besides.
    unsafeLocalExplorer: false,
    unsafeTriggerHandlers: false,
  }
}

/** Whatever the reason (no database, damaged, written by a newer version), the way out is the same. */
async function migrateAll(runtime: Miniflare, stateDir: string): Promise<void> {
  try {
    const databases = Object.keys(read().d1Databases ?? {})
    for (const name of databases) await migrate(await runtime.getD1Database(name))
  } catch (error) {
    const why = error instanceof Error ? error.message : String(error)
    throw new StartError(
      `The database in ${stateDir} is broken or not ours (${why}): restore the folder from a backup, or start ` +
        'with another --state DIR.',
      { cause: error },
    )
  }
}

/** A refusal or a broken connection is an answer of 502: whoever asked tries again later, as with any outage. */
async function goOut(request: Request, testOrigin: string | null): Promise<Response> {
  try {
    const bytes = new Uint8Array(await request.arrayBuffer())
    const { url, method } = request
    const headers = Object.fromEntries([...request.headers].filter(([name]) => !/^(mf-|cf-)/.test(name)))
    const answer = await fetchPublic(
      { url, method, headers, body: bytes.length === 0 ? null : bytes },
      { testOrigin },
    )
    const hasNoBody = [204, 205, 304].includes(answer.status)
    return new Response(hasNoBody ? null : answer.body, {
      status: answer.status,
      headers: answer.headers.map(([name, value]) => [name, value] as [string, string]),
    })
  } catch (error) {
    return new Response(error instanceof Error ? error.message : String(error), { status: 502 })
  }
}
