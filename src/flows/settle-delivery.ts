import { failureWord, type Outcome } from '../core/messages/answer.ts'
import { backOffS } from '../core/messages/back-off.ts'
import type { DropWord } from '../core/messages/decide.ts'
import { PUSH_REMINDERS_MAX, PUSH_REMINDER_AFTER_S } from '../core/limits.ts'
import type {
  DeliveryKey,
  DeviceResult,
  DueDelivery,
  Group,
  Move,
  Ready,
  Settlement,
} from './message-ports.ts'

/** A settlement while it is being written, with the counts for the report. */
export type DraftSettlement = Settlement & {
  readonly moves: Move[]
  readonly covered: { alert: string; device: string }[]
  readonly removals: { alert: string; device: string }[]
  readonly reminders: (DeliveryKey & { of: DeliveryKey })[]
  readonly devices: DeviceResult[]
  readonly tallies: Map<string, number>
  sent: number
  failed: number
  dropped: number
  drop(row: DueDelivery, why: DropWord): void
  wait(row: DueDelivery, untilS: number): void
}

export function startSettlement(): DraftSettlement {
  const draft: DraftSettlement = {
    moves: [],
    covered: [],
    removals: [],
    reminders: [],
    devices: [],
    tallies: new Map(),
    sent: 0,
    failed: 0,
    dropped: 0,
    drop(row, why) {
      draft.dropped += 1
      draft.moves.push(moveOf(row, { state: 'dropped', why }))
      // Nothing about this alert will follow, or the device has no more use for it.
      if (why === 'deleted' || why === 'over-already' || row.kind === 'over') draft.removals.push(row)
      if (why === 'expired') count(draft, 'push-expired')
    },
    wait(row, untilS) {
      draft.moves.push(moveOf(row, { state: 'waiting', dueAtS: untilS }))
    },
  }
  return draft
}

/** The change of a row, guarded by the due time as it was read. */
export function moveOf(row: DueDelivery, change: Partial<Move> & Pick<Move, 'state'>): Move {
  return {
    alert: row.alert,
    device: row.device,
    atS: row.atS,
    kind: row.kind,
    wasDueAtS: row.dueAtS,
    dueAtS: row.dueAtS,
    addAttempts: 0,
    isShort: row.isShort,
    why: null,
    ...change,
  }
}

function count(draft: DraftSettlement, what: string): void {
  draft.tallies.set(what, (draft.tallies.get(what) ?? 0) + 1)
}

type Circumstance = { readonly nowS: number; readonly draw: number }

/** Writes down what came of one message. */
export function settleGroup(draft: DraftSettlement, group: Group, outcome: Outcome, now: Circumstance): void {
  const { device, subscription } = group.to
  const { endpoint } = subscription
  if (outcome.kind === 'sent') {
    draft.sent += 1
    draft.devices.push({ device, endpoint, result: 'reached' })
    for (const row of group.rows) settleSent(draft, row, now.nowS)
    return
  }
  draft.failed += 1
  const word = failureWord(outcome)
  count(draft, `push-${word}`)
  if (outcome.kind === 'gone') {
    draft.devices.push({ device, endpoint, result: 'gone' })
    for (const row of group.rows) draft.drop(row, 'device-gone')
    return
  }
  draft.devices.push({ device, endpoint, result: 'failed', why: word })
  for (const row of group.rows) settleFailed(draft, row, outcome, now)
}

function settleSent(draft: DraftSettlement, row: Ready, nowS: number): void {
  draft.moves.push(moveOf(row, { state: 'sent' }))
  if (row.kind === 'over') draft.removals.push(row)
  const isFirst = row.kind === 'raised' || row.kind === 'changed'
  if (row.urgency !== 'now' || !(isFirst || row.kind === 'reminder')) return
  const dueAtS = nowS + PUSH_REMINDER_AFTER_S
  if (row.reminders >= PUSH_REMINDERS_MAX) return
  draft.reminders.push({
    alert: row.alert,
    device: row.device,
    atS: dueAtS,
    kind: 'reminder',
    of: { alert: row.alert, device: row.device, atS: row.atS, kind: row.kind },
  })
}

function settleFailed(
  draft: DraftSettlement,
  row: Ready,
  outcome: Extract<Outcome, { kind: 'refused' | 'too-large' | 'later' }>,
  now: Circumstance,
): void {
  const isTooLarge = outcome.kind === 'too-large'
  if (isTooLarge && row.isShort) {
    draft.drop(row, 'too-large')
    return
  }
  const retryAfterS = isTooLarge ? null : outcome.retryAfterS
  draft.moves.push(
    moveOf(row, {
      state: 'waiting',
      dueAtS: now.nowS + backOffS({ attempts: row.attempts, draw: now.draw, retryAfterS }),
      isShort: row.isShort || isTooLarge,
      why: failureWord(outcome),
    }),
  )
}
