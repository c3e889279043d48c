import type { Outcome } from '../core/messages/answer.ts'
import { judgeAnswer } from '../core/messages/answer.ts'
import { decide } from '../core/messages/decide.ts'
import { groupMessages } from '../core/messages/plan.ts'
import {
  PUSH_AT_ONCE,
  PUSH_BEHIND_MAX_S,
  PUSH_LEASE_S,
  PUSH_PAYLOAD_MAX_BYTES,
  PUSH_PAYLOAD_SHORT_BYTES,
  PUSH_SILENT_HOLD_S,
  type Budgets,
} from '../core/limits.ts'
import { namedAsSilent, writeMessage, type Words } from './write-message.ts'
import { moveOf, settleGroup, startSettlement, type DraftSettlement } from './settle-delivery.ts'
import type {
  AlertBook,
  AlertNow,
  DueDelivery,
  Group,
  Move,
  Outbox,
  Ready,
  Recipient,
  SendPush,
  SilentRig,
  UntoldEvent,
} from './message-ports.ts'

export type DeliverPorts = {
  readonly outbox: Outbox
  /** By the number of the shard. */
  readonly shards: ReadonlyMap<number, AlertBook>
  /** `null`: push is not set up; messages wait. */
  readonly send: SendPush | null
  readonly words: Words
  /** Uniform in 0..1: spreads the retries. */
  readonly draw: () => number
}

export type DeliverBudget = Pick<Budgets, 'pushesMax' | 'outboxRowsMax'>

export type DeliverReport = {
  readonly told: number
  readonly sent: number
  readonly failed: number
  readonly dropped: number
  /** Due messages were left for the next sweep. */
  readonly hasMore: boolean
}

/**
 * One sweep of the outbox: hand over new events, take what is due, send it, record what came of it.
 * Any number of sweeps may run at once or die anywhere: a row is claimed before it is sent and comes back when the
 * claim runs out, so a message goes out at least once, and a repeat carries the same tag and id.
 */
export async function deliver(
  ports: DeliverPorts,
  nowS: number,
  budget: DeliverBudget,
): Promise<DeliverReport> {
  const told = await handOverEvents(ports, nowS, budget.outboxRowsMax)
  if (!ports.send) return { told, sent: 0, failed: 0, dropped: 0, hasMore: false }
  const due = await ports.outbox.due(nowS, budget.outboxRowsMax)
  if (due.length === 0) return { told, sent: 0, failed: 0, dropped: 0, hasMore: told >= budget.outboxRowsMax }
  const alerts = await loadAlerts(ports.shards, due)
  const { ready, draft } = sortOut(due, alerts, nowS)
  const groups = groupMessages(ready)
  const mine = await claim(ports.outbox, groups.slice(0, budget.pushesMax), nowS)
  const silent = await loadSilence(ports.shards, mine)
  await inParallel(mine, PUSH_AT_ONCE, async (group) => {
    const outcome = await sendGroup(ports, ports.send, group, silent)
    settleGroup(draft, group, outcome, { nowS, draw: ports.draw() })
    if (outcome.kind !== 'sent') return
    const { device } = group.to
    for (const { alert } of namedAsSilent(group, silent)) draft.covered.push({ alert, device })
  })
  await ports.outbox.settle(draft, nowS)
  const hasMore =
    groups.length > budget.pushesMax || due.length >= budget.outboxRowsMax || told >= budget.outboxRowsMax
  return { told, sent: draft.sent, failed: draft.failed, dropped: draft.dropped, hasMore }
}

/** Moves new events into the outbox. Marking them comes last: a death in between hands them over again, which adds nothing. */
async function handOverEvents(ports: DeliverPorts, nowS: number, limit: number): Promise<number> {
  let told = 0
  for (const book of ports.shards.values()) {
    const events = await book.untold(limit, nowS - PUSH_BEHIND_MAX_S)
    if (events.length === 0) continue
    const worthTelling = events.filter((event) => event.kind === 'over' || !event.isAlertOver)
    if (worthTelling.length > 0) {
      await ports.outbox.handOver(
        worthTelling.map((event) => Object.assign({}, event, { dueAtS: nowS + holdS(event) })),
        nowS,
      )
    }
    await book.markTold(events.map((event) => event.key))
    told += events.length
  }
  return told
}

/** Silence waits a little for company: rigs on one hub fall silent within minutes, and one message says it better. */
function holdS(event: UntoldEvent): number {
  const canWait = event.rule === 'silent' && event.kind === 'raised' && event.urgency !== 'now'
  return canWait ? PUSH_SILENT_HOLD_S : 0
}

async function loadAlerts(
  shards: DeliverPorts['shards'],
  due: readonly DueDelivery[],
): Promise<ReadonlyMap<string, AlertNow>> {
  const found = new Map<string, AlertNow>()
  for (const [shard, ids] of byShard(due, (row) => row.alert)) {
    const alerts = (await shards.get(shard)?.alerts(ids)) ?? []
    for (const alert of alerts) found.set(alert.alert, alert)
  }
  return found
}

async function loadSilence(
  shards: DeliverPorts['shards'],
  groups: readonly Group[],
): Promise<ReadonlyMap<string, readonly SilentRig[]>> {
  const about = groups.flatMap((group) => group.rows).filter((row) => row.rule === 'silent')
  const found = new Map<string, SilentRig[]>()
  for (const [shard, hangars] of byShard(about, (row) => row.hangar)) {
    for (const rig of (await shards.get(shard)?.silentRigs(hangars)) ?? []) {
      const others = found.get(rig.hangar)
      if (others) others.push(rig)
      else found.set(rig.hangar, [rig])
    }
  }
  return found
}

function byShard(
  rows: readonly DueDelivery[],
  pick: (row: DueDelivery) => string,
): ReadonlyMap<number, readonly string[]> {
  const sets = new Map<number, Set<string>>()
  for (const row of rows) {
    if (!row.to) continue
    const set = sets.get(row.to.shard) ?? new Set<string>()
    sets.set(row.to.shard, set.add(pick(row)))
  }
  return new Map([...sets].map(([shard, set]) => [shard, [...set]]))
}

const RANK = { now: 0, visit: 1, note: 2 } as const

/** What goes out now; what has no point any more or has to wait is written down at once. */
function sortOut(
  due: readonly DueDelivery[],
  alerts: ReadonlyMap<string, AlertNow>,
  nowS: number,
): { readonly ready: readonly (Ready & { to: Recipient })[]; readonly draft: DraftSettlement } {
  const draft = startSettlement()
  const ready: (Ready & { to: Recipient })[] = []
  for (const row of due) {
    const { to } = row
    const alertNow = alerts.get(row.alert)
    if (!to || !alertNow) {
      draft.drop(row, 'deleted')
      continue
    }
    const decision = decide(
      { ...row, createdAtS: row.madeAtS, alert: alertNow, quiet: to.quiet, isQuietForNow: to.isQuietForNow },
      nowS,
    )
    if (decision.act === 'drop') draft.drop(row, decision.why)
    else if (decision.act === 'wait') draft.wait(row, decision.untilS)
    else ready.push({ ...row, to, alertNow, rank: row.kind === 'over' ? 2 : RANK[row.urgency] })
  }
  return { ready, draft }
}

/** Takes the rows for this invocation. What another one took meanwhile is left out. */
async function claim(
  outbox: Outbox,
  groups: readonly (readonly (Ready & { to: Recipient })[])[],
  nowS: number,
): Promise<readonly Group[]> {
  const moves: Move[] = groups
    .flat()
    .map((row) => moveOf(row, { state: 'waiting', dueAtS: nowS + PUSH_LEASE_S, addAttempts: 1 }))
  if (moves.length === 0) return []
  const taken = new Set((await outbox.move(moves)).map((key) => nameOf(key)))
  const mine: Group[] = []
  for (const group of groups) {
    const rows = group
      .filter((row) => taken.has(nameOf(row)))
      .map((row) => Object.assign({}, row, { dueAtS: nowS + PUSH_LEASE_S, attempts: row.attempts + 1 }))
    const first = rows[0]
    if (first) mine.push({ rows, to: first.to })
  }
  return mine
}

function nameOf(key: {
  readonly alert: string
  readonly device: string
  readonly atS: number
  readonly kind: string
}) {
  return `${key.alert} ${key.device} ${key.atS} ${key.kind}`
}

async function sendGroup(
  ports: DeliverPorts,
  send: SendPush | null,
  group: Group,
  silent: ReadonlyMap<string, readonly SilentRig[]>,
): Promise<Outcome> {
  if (!send) throw new Error('nothing is claimed without a sender')
  const isShort = group.rows.some((row) => row.isShort)
  const answer = await send({
    subscription: group.to.subscription,
    message: writeMessage(group, silent, ports.words),
    origin: group.to.origin,
    maxBytes: isShort ? PUSH_PAYLOAD_SHORT_BYTES : PUSH_PAYLOAD_MAX_BYTES,
  })
  return judgeAnswer(answer)
}

/** Runs `work` over `items`, at most `atOnce` at a time. */
async function inParallel<T>(
  items: readonly T[],
  atOnce: number,
  work: (item: T) => Promise<void>,
): Promise<void> {
  const queue = items.values()
  const worker = async () => {
    for (const item of queue) await work(item)
  }
  await Promise.all(Array.from({ length: Math.min(atOnce, items.length) }, worker))
}
