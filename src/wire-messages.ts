/** Composition of the messages: keys and rules from the settings, the outbox and the alerts from the databases. */
import { alertBook } from './adapters/d1/alert-book.ts'
import { deviceStore } from './adapters/d1/devices.ts'
import { outbox } from './adapters/d1/deliveries.ts'
import { pushSender } from './adapters/push/send.ts'
import { isRealContact } from './adapters/push/vapid.ts'
import { pushWords } from './core/words/alert-words.ts'
import { GRID_S, SWEEPS_PER_TICK_MAX, type Budgets } from './core/limits.ts'
import type { Env } from './env.ts'
import type { Log } from './wire-log.ts'
import { deliver, type DeliverPorts } from './flows/deliver.ts'
import type { DevicePorts, PushSetting } from './flows/devices.ts'
import { readAddedHosts, readTestOrigin } from './flows/push-endpoint.ts'

const DAY_S = 86_400

/** Stands in the token where no contact is set: good enough for a browser on this very machine, and for no other. */
const NO_CONTACT = 'mailto:host@beadwatch.invalid'

/** `null` without keys. */
export function openPush(env: Env, log: Log): PushSetting | null {
  const { VAPID_PUBLIC_KEY: publicKey, VAPID_PRIVATE_KEY: privateKey } = env
  if (!publicKey || !privateKey) return null
  const contact = env.VAPID_CONTACT ?? ''
  const hasContact = isRealContact(contact)
  const added = readAddedHosts(env.PUSH_HOSTS)
  for (const host of added.refused) log({ event: 'push-host-refused', host })
  const rules = { addedHosts: added.hosts, testOrigin: readTestOrigin(env.PUSH_TEST_ORIGIN) }
  const send = pushSender({
    keys: { publicKey, privateKey, contact: hasContact ? contact : NO_CONTACT },
    rules,
    fetch: (...request) => fetch(...request),
    nowMs: Date.now,
    onError: (error) => log({ event: 'push-unsendable', error: error.name, message: error.message }),
  })
  return { publicKey, hasContact, rules, send }
}

export function openDevices(env: Env, push: PushSetting | null): DevicePorts {
  return { devices: deviceStore(env.DB), push }
}

/** Names a sweep: the tick it belongs to, and how many came before it in that tick. */
export type SweepOf = { readonly scheduledS: number; readonly nth: number }

/**
 * One sweep of the outbox. What is left over goes on in an invocation of its own by way of the queue, so that the few
 * messages that one invocation may send do not hold the rest back until the next tick; if the queue fails, the tick does.
 */
export function sweeps(of: {
  readonly databases: readonly [D1Database, ...D1Database[]]
  readonly push: PushSetting | null
  readonly budgets: Budgets
  readonly log: Log
  readonly queue: Pick<Queue, 'send'>
}): (sweep: SweepOf) => Promise<void> {
  const ports: DeliverPorts = {
    outbox: outbox(of.databases[0]),
    shards: new Map(of.databases.map((db, shard) => [shard, alertBook(db)])),
    send: of.push?.send ?? null,
    words: pushWords,
    draw: Math.random,
  }
  return async ({ scheduledS, nth }) => {
    if (nth === 0 && scheduledS % DAY_S < GRID_S) await ports.outbox.tidy(scheduledS)
    const report = await deliver(ports, scheduledS, of.budgets)
    if (report.told + report.sent + report.failed + report.dropped > 0)
      of.log({ event: 'messages', ...report })
    if (!report.hasMore || nth >= SWEEPS_PER_TICK_MAX) return
    await of.queue
      .send({ kind: 'messages', scheduledS, nth: nth + 1 })
      .catch((error: unknown) => of.log({ event: 'spread-failed', message: String(error) }))
  }
}
