import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import type { D1Database } from '@cloudflare/workers-types'
import { convertV4MiniflareOptions, Miniflare } from 'miniflare'
import { unstable_splitSqlQuery as splitSql } from 'wrangler'

const migrationsDir = new URL('../../migrations', import.meta.url).pathname

/** A D1 database of its own, in memory, with the real migrations applied. */
export async function startDatabase(): Promise<{ readonly db: D1Database; close(): Promise<void> }> {
  const platform = new Miniflare(
    convertV4MiniflareOptions({
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
    }),
  )
  const db = await platform.getD1Database('DB')
  for (const name of readdirSync(migrationsDir).toSorted()) {
    if (!name.endsWith('.sql')) continue
    const statements = splitSql(readFileSync(join(migrationsDir, name), 'utf8'))
    await db.batch(statements.map((sql) => db.prepare(sql)))
  }
  return { db, close: () => platform.dispose() }
}
