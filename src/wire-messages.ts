/** Composition of the messages: keys and rules from the settings, the outbox and the alerts from the databases. */
import { alertBook } from './adapters/d1/alert-book.ts'
import { deviceStore } from './adapters/d1/devices.ts'
import { outbox } from './adapters/d1/deliveries.ts'
import { pushSender } from './adapters/push/send.ts'
import { isRealContact } from './adapters/push/vapid.ts'
import { alertSentence } from './core/words/alert-words.ts'
import type { Budgets } from './core/limits.ts'
import type { Env } from './env.ts'
import { deliver, type DeliverPorts, type DeliverReport } from './flows/deliver.ts'
import type { DevicePorts, PushSetting } from './flows/devices.ts'
import { readAddedHosts, readTestOrigin } from './flows/push-endpoint.ts'

type Log = (line: Readonly<Record<string, string | number | boolean | null>>) => void

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

/** One sweep of the outbox, for the schedule and the queue. */
export function sweepMessages(
  of: {
    readonly databases: readonly D1Database[]
    readonly push: PushSetting | null
  },
  nowS: number,
  budgets: Budgets,
): Promise<DeliverReport> {
  const [directory] = of.databases
  if (!directory) throw new Error('a deployment has at least one database')
  const ports: DeliverPorts = {
    outbox: outbox(directory),
    shards: new Map(of.databases.map((db, shard) => [shard, alertBook(db)])),
    send: of.push?.send ?? null,
    sentence: alertSentence,
    draw: Math.random,
  }
  return deliver(ports, nowS, budgets)
}
