/** What a monitor and the host want to know, from the databases. */
import type { HealthPort } from '../../flows/health.ts'
import { recentTallies } from './tally.ts'

/** `shards`: all databases, the first one included. */
export function healthPort(shards: readonly D1Database[]): HealthPort {
  return {
    checkedAtS: async () => {
      const oldestS = Math.min(...(await Promise.all(shards.map(checkedS))))
      return oldestS === 0 ? null : oldestS
    },
    forHost: async (nowS) => {
      const counts = await Promise.all(shards.map(countOf))
      const messages = await messagesOf(shards[0], nowS)
      return {
        shards: shards.length,
        rigsSetBack: counts.reduce((sum, count) => sum + count.setBack, 0),
        rigsBehind: counts.reduce((sum, count) => sum + count.behind, 0),
        ...messages,
      }
    },
  }
}

/** When this database's rigs were last checked, s; 0: never. One row. */
async function checkedS(db: D1Database): Promise<number> {
  const row = await db.prepare('SELECT checked_s FROM schedule WHERE one = 1').first<{ checked_s: number }>()
  return row?.checked_s ?? 0
}

async function messagesOf(directory: D1Database | undefined, nowS: number) {
  if (!directory) throw new Error('a deployment has at least one database')
  const row = await directory
    .prepare(
      `SELECT (SELECT count(*) FROM delivery WHERE state = 'waiting' AND kind <> 'reminder') AS waiting,
              (SELECT count(*) FROM delivery WHERE state = 'waiting' AND due_at_s < ?1) AS overdue,
              (SELECT count(*) FROM device WHERE failure LIKE 'refused-%') AS refused`,
    )
    .bind(nowS - 3600)
    .first<{ waiting: number; overdue: number; refused: number }>()
  return {
    deliveriesWaiting: row?.waiting ?? 0,
    deliveriesOverdue: row?.overdue ?? 0,
    devicesRefused: row?.refused ?? 0,
    errors: await recentTallies(directory, nowS),
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
