import { readFileSync, readdirSync } from 'node:fs'
import { join } from 'node:path'
import type { D1Database } from '@cloudflare/workers-types'
import { unstable_splitSqlQuery as splitSql } from 'wrangler'
import { projectDir } from './paths.ts'

/**
 * Applies the migrations that the database has not seen, each in one transaction with the note that it was
 * applied, under the table and names that the platform's own tool uses.
 * @returns the names of those applied now
 */
export async function migrate(db: D1Database): Promise<string[]> {
  await db
    .prepare(
      `CREATE TABLE IF NOT EXISTS d1_migrations (
        id INTEGER PRIMARY KEY AUTOINCREMENT, name TEXT UNIQUE,
        applied_at TIMESTAMP DEFAULT CURRENT_TIMESTAMP NOT NULL)`,
    )
    .all()
  const { results } = await db.prepare('SELECT name FROM d1_migrations').all()
  const applied = new Set(results.map((row) => nameOf(row)))
  const dir = join(projectDir, 'migrations')
  const wanted = readdirSync(dir)
    .filter((name) => name.endsWith('.sql') && !applied.has(name))
    .toSorted()
  for (const name of wanted) {
    const statements = splitSql(readFileSync(join(dir, name), 'utf8')).map((sql) => db.prepare(sql))
    await db.batch([...statements, db.prepare('INSERT INTO d1_migrations (name) VALUES (?1)').bind(name)])
  }
  return wanted
}

function nameOf(row: unknown): string {
  if (typeof row === 'object' && row !== null && 'name' in row && typeof row.name === 'string')
    return row.name
  throw new Error('d1_migrations has a row without a name')
}
