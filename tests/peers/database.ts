import type { D1Database } from '@cloudflare/workers-types'
import { convertV4MiniflareOptions, Miniflare } from 'miniflare'
import { migrate } from '../../clients/local/migrate.ts'

/** A D1 database of its own with the real migrations applied, in memory or in a folder. */
export async function startDatabase(
  stateDir?: string,
): Promise<{ readonly db: D1Database; close(): Promise<void> }> {
  const options = convertV4MiniflareOptions({
    host: '127.0.0.1',
    port: 0,
    cf: false,
    workers: [
      {
        name: 'holder',
        modules: true,
        script: 'export default { fetch: () => new Response(null, { status: 204 }) }',
        compatibilityDate: '2026-08-04',
        d1Databases: { DB: 'messages' },
      },
    ],
  })
  const platform = new Miniflare(
    stateDir === undefined ? options : { ...options, resourcePersistencePath: stateDir },
  )
  const db = await platform.getD1Database('DB')
  await migrate(db)
  return { db, close: () => platform.dispose() }
}
