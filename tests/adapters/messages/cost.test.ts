/** What a sweep costs in rows: it runs every five minutes for ever, nearly always with nothing to do. */
import { applyD1Migrations } from 'cloudflare:test'
import { env } from 'cloudflare:workers'
import { beforeAll, expect, test } from 'vitest'
import { alertBook } from '../../../src/adapters/d1/alert-book.ts'
import { outbox } from '../../../src/adapters/d1/deliveries.ts'
import { BUDGETS } from '../../../src/core/limits.ts'
import { pushWords } from '../../../src/core/words/alert-words.ts'
import { deliver } from '../../../src/flows/deliver.ts'
import { countingDb } from '../store/counting-db.ts'

const NOW_S = 1_790_000_100
const DEVICES = 3

/** The numbers from 0 below `upTo`, for a statement that makes as many rows. */
function numbers(upTo: number): string {
  return `WITH RECURSIVE n (i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < ${upTo - 1})`
}

beforeAll(async () => {
  await applyD1Migrations(env.DB, env.TEST_MIGRATIONS)
  await env.DB.batch([
    env.DB.prepare("INSERT INTO hangar (id, name, made_at_s) VALUES ('h', 'Row', 0)"),
    env.DB.prepare("INSERT INTO person (id, name, made_at_s) VALUES ('p', 'Mira', 0)"),
    env.DB.prepare("INSERT INTO member (hangar, person, role, since_s) VALUES ('h', 'p', 'keeper', 0)"),
    env.DB.prepare(
      `${numbers(DEVICES)} INSERT INTO device (id, person, name, origin, endpoint, p256dh, auth, made_at_s)
       SELECT 'd' || i, 'p', 'phone', 'https://dry.example', 'https://fcm.googleapis.com/' || i, 'p', 'a', 0 FROM n`,
    ),
    env.DB.prepare(
      "INSERT INTO rig (rig_id, public_id, hangar, slug, name, made_s) VALUES (1, 'r', 'h', 'heron', 'Heron', 0)",
    ),
    env.DB.prepare('INSERT INTO memory (rig_id, grid_s) VALUES (1, 4000000000)'),
    // A long life: 2,000 events that were told, 1,000 messages that wait for their hour, 1,000 that went out.
    env.DB.prepare(
      `${numbers(2000)} INSERT INTO alert_event (rig_id, rule, raised_at_s, at_s, event, urgency, since_s, evidence, is_told)
       SELECT 1, 'leak', i, i, 'raised', 'visit', i, '{}', 1 FROM n`,
    ),
    env.DB.prepare(
      `${numbers(2000)} INSERT INTO delivery (alert, device, at_s, kind, hangar, rig, rule, urgency, rank, state, due_at_s, made_at_s)
       SELECT 'a' || i, 'd0', 1, 'raised', 'h', 'r', 'leak', 'visit', 1, iif(i % 2, 'waiting', 'sent'), ${NOW_S} + 9000, 0 FROM n`,
    ),
  ])
})

async function sweep() {
  const counting = countingDb(env.DB)
  const report = await deliver(
    {
      outbox: outbox(counting.db),
      shards: new Map([[0, alertBook(counting.db)]]),
      send: () => Promise.resolve({ kind: 'answered', status: 201, retryAfterS: null }),
      words: pushWords,
      draw: () => 0.5,
    },
    NOW_S,
    BUDGETS.free,
  )
  return { report, counting }
}

test('nothing to do: two statements, and no row of the past is looked at', async () => {
  const { report, counting } = await sweep()
  expect(report).toEqual({ told: 0, sent: 0, failed: 0, dropped: 0, hasMore: false })
  console.log(
    `messages: an idle sweep reads ${counting.count.read} rows in ${counting.count.trips} round trips`,
  )
  expect(counting.count.read).toBeLessThanOrEqual(8)
  expect(counting.count.written).toBe(0)
})

test('an alert to three devices: rows for what is sent, and none for the rest', async () => {
  await env.DB.batch([
    env.DB.prepare(
      `INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence)
       VALUES ('fresh', 1, 'no-drop', ${NOW_S - 600}, ${NOW_S - 600}, 'visit', '{}')`,
    ),
    env.DB.prepare(
      `INSERT INTO alert_event (rig_id, rule, raised_at_s, at_s, event, urgency, since_s, evidence)
       VALUES (1, 'no-drop', ${NOW_S - 600}, ${NOW_S - 600}, 'raised', 'visit', ${NOW_S - 600}, '{}')`,
    ),
  ])
  const { report, counting } = await sweep()
  expect(report).toMatchObject({ told: 1, sent: 3 })
  const { read, written, trips } = counting.count
  console.log(
    `messages: one alert to ${DEVICES} devices reads ${read} and writes ${written} rows in ${trips} round trips`,
  )
  // Told: 2 with its index. Per message: made 2, claimed 3, settled 2, its device 1.
  expect(written).toBeLessThanOrEqual(2 + DEVICES * 8)
  expect(read).toBeLessThanOrEqual(20 + DEVICES * 40)
  expect(trips).toBe(7)
})
