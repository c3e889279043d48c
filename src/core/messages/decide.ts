import type { Urgency } from '../fold/outputs.ts'
import { PUSH_ATTEMPTS_MAX, PUSH_LIFETIME_S } from '../limits.ts'
import { quietUntilS, type QuietHours } from './quiet-hours.ts'

export type MessageKind = 'raised' | 'changed' | 'over' | 'reminder'

/** What the outbox knows about one waiting message when its turn comes. */
export type Waiting = {
  readonly kind: MessageKind
  readonly urgency: Urgency
  readonly createdAtS: number
  readonly attempts: number
  /** The alert as it is now; `null` if it or its rig has been deleted. */
  readonly alert: { readonly state: 'open' | 'seen' | 'over'; readonly urgency: Urgency } | null
  /** A newer message about the same alert waits for, or went to, the same device. */
  readonly hasNewer: boolean
  /** An earlier message about the alert went out to this device, or may have: a kill can hide an answer. */
  readonly mayKnow: boolean
  readonly quiet: QuietHours | null
  /** The owner chose that even `now` waits until the quiet hours are over. */
  readonly isQuietForNow: boolean
}

export type DropWord =
  | 'deleted'
  | 'over-already'
  | 'superseded'
  | 'never-told'
  | 'seen'
  | 'expired'
  | 'device-gone'
  | 'too-large'

export type Decision =
  | { readonly act: 'send' }
  | { readonly act: 'wait'; readonly untilS: number }
  | { readonly act: 'drop'; readonly why: DropWord }

/**
 * Whether a message still has a point, and whether this is the hour for it. It looks at the alert as it is now,
 * not as it was: what began and ended during the quiet hours, or before the phone could be reached, is not said.
 */
export function decide(waiting: Waiting, nowS: number): Decision {
  const pointless = whyPointless(waiting, nowS)
  if (pointless) return { act: 'drop', why: pointless }
  const isHeldBack = waiting.urgency !== 'now' || waiting.kind === 'over' || waiting.isQuietForNow
  const untilS = waiting.quiet && isHeldBack ? quietUntilS(nowS, waiting.quiet) : null
  return untilS === null ? { act: 'send' } : { act: 'wait', untilS }
}

function whyPointless(waiting: Waiting, nowS: number): DropWord | null {
  const { alert, kind } = waiting
  if (!alert) return 'deleted'
  if (waiting.hasNewer) return 'superseded'
  if (kind === 'over') {
    if (!waiting.mayKnow) return 'never-told'
  } else if (alert.state === 'over') {
    return 'over-already'
  }
  if (kind === 'reminder' && (alert.state !== 'open' || alert.urgency !== 'now')) return 'seen'
  if (nowS - waiting.createdAtS > PUSH_LIFETIME_S || waiting.attempts >= PUSH_ATTEMPTS_MAX) return 'expired'
  return null
}
