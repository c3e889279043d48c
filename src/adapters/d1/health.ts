/** What a monitor and the host want to know, from the databases. */
import type { HealthPort } from '../../flows/health.ts'

/** `shards`: all databases, the first one included. */
export function healthPort(shards: readonly D1Database[]): HealthPort {
  return {
    checkedAtS: async () => {
      const row = await shards[0]
        ?.prepare('SELECT checked_s FROM schedule WHERE one = 1')
        .first<{ checked_s: number }>()
      return row === undefined || row === null || row.checked_s === 0 ? null : row.checked_s
    },
    forHost: async () => {
      const counts = await Promise.all(shards.map(countOf))
      const waiting = await shards[0]
        ?.prepare("SELECT count(*) AS n FROM delivery WHERE state = 'waiting'")
        .first<{ n: number }>()
      return {
        shards: shards.length,
        rigsSetBack: counts.reduce((sum, count) => sum + count.setBack, 0),
        rigsBehind: counts.reduce((sum, count) => sum + count.behind, 0),
        deliveriesWaiting: waiting?.n ?? 0,
      }
    },
  }
}

async function countOf(db: D1Database): Promise<{ setBack: number; behind: number }> {
  const row = await db
    .prepare(
      `SELECT (SELECT count(*) FROM memory WHERE set_back_until_s IS NOT NULL) AS set_back,
              (SELECT behind FROM schedule WHERE one = 1) AS behind`,
    )
    .first<{ set_back: number; behind: number }>()
  return { setBack: row?.set_back ?? 0, behind: row?.behind ?? 0 }
}
