import type { D1Database, D1PreparedStatement } from '@cloudflare/workers-types'
import { TALLY_KEPT_DAYS } from '../../core/limits.ts'

const DAY_S = 86_400

/** Adds to the counts of the UTC day, and drops those that nobody looks at any more. */
export function tallyStatements(
  db: D1Database,
  tallies: ReadonlyMap<string, number>,
  nowS: number,
): D1PreparedStatement[] {
  const dayS = nowS - (nowS % DAY_S)
  return [
    db
      .prepare(
        `INSERT INTO tally (day_s, what, times)
         SELECT ?2, value->>0, value->>1 FROM json_each(?1) WHERE true
         ON CONFLICT DO UPDATE SET times = times + excluded.times`,
      )
      .bind(JSON.stringify([...tallies]), dayS),
    db.prepare('DELETE FROM tally WHERE day_s < ?1').bind(dayS - TALLY_KEPT_DAYS * DAY_S),
  ]
}

export async function addTally(db: D1Database, what: string, nowS: number): Promise<void> {
  await db.batch(tallyStatements(db, new Map([[what, 1]]), nowS))
}

/** What went wrong today and yesterday (UTC), by its word. */
export async function recentTallies(db: D1Database, nowS: number): Promise<Readonly<Record<string, number>>> {
  const { results } = await db
    .prepare('SELECT what, sum(times) AS times FROM tally WHERE day_s >= ?1 GROUP BY what ORDER BY what')
    .bind(nowS - (nowS % DAY_S) - DAY_S)
    .all<{ what: string; times: number }>()
  return Object.fromEntries(results.map(({ what, times }) => [what, times]))
}
