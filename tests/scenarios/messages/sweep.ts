import type { D1Database } from '@cloudflare/workers-types'
import webPush from 'web-push'
import { z } from 'zod'
import { alertBook } from '../../../src/adapters/d1/alert-book.ts'
import { outbox } from '../../../src/adapters/d1/deliveries.ts'
import { pushSender } from '../../../src/adapters/push/send.ts'
import { pushWords } from '../../../src/core/words/alert-words.ts'
import { BUDGETS, type Budgets } from '../../../src/core/limits.ts'
import { deliver, type DeliverPorts } from '../../../src/flows/deliver.ts'
import { startDatabase } from '../../peers/database.ts'
import { startPushService } from '../../peers/push-service.ts'

export const NOW_S = Date.parse('2026-11-25T12:00:00Z') / 1000

/** Real outbox on a real D1, real sender, a push service on loopback; the clock and the dice are the test's. */
export async function startSweeps() {
  const keys = { ...webPush.generateVAPIDKeys(), contact: 'mailto:host@airfield.example' }
  const service = await startPushService(keys.publicKey)
  const database = await startDatabase()
  const { db } = database
  const ports: DeliverPorts = {
    outbox: outbox(db),
    shards: new Map([[0, alertBook(db)]]),
    send: pushSender({
      keys,
      rules: { addedHosts: [], testOrigin: service.origin },
      fetch,
      nowMs: Date.now,
      timeOutMs: 500,
    }),
    words: pushWords,
    draw: () => 0.5,
  }
  return {
    db,
    service,
    ports,
    sweep: (nowS: number, budget: Budgets = BUDGETS.paid, other: Partial<DeliverPorts> = {}) =>
      deliver({ ...ports, ...other }, nowS, budget),
    /** Title and tag of what arrived since the last look, in order. */
    look() {
      const shown = service.received.map((one) => ({
        to: one.subscription,
        ...shownOf(one.text),
      }))
      service.received.length = 0
      return shown
    },
    async empty() {
      for (const table of [
        'delivery',
        'device',
        'alert_event',
        'alert',
        'memory',
        'rig',
        'member',
        'person',
        'hangar',
        'tally',
      ])
        await db.prepare(`DELETE FROM ${table}`).run()
      service.received.length = 0
      service.fail(() => null)
    },
    async close() {
      await service.close()
      await database.close()
    },
  }
}

export type Sweeps = Awaited<ReturnType<typeof startSweeps>>

/** A message as a person takes it in: what it asks for and of which rig, beside what it says. */
export function shownOf(text: string) {
  const { title, body, tag, data } = payload.parse(JSON.parse(text)).notification
  return { label: `${asks(title, body)} ${title.split(':')[0]}`, title, body, tag, id: data.id }
}

const payload = z.object({
  notification: z.object({
    title: z.string(),
    body: z.string(),
    tag: z.string(),
    data: z.object({ id: z.string() }),
  }),
})

function asks(title: string, body: string): string {
  if (title.endsWith(': over')) return 'over'
  if (body.startsWith('Still open')) return 'again'
  if (body.startsWith('Drive out now.')) return 'now'
  return body.startsWith('On your next visit.') ? 'visit' : 'note'
}

export async function rows(db: D1Database, sql: string): Promise<readonly Record<string, unknown>[]> {
  return (await db.prepare(sql).all()).results
}
