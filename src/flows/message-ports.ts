/** What sending messages needs from the outside. Times are Unix seconds. */
import type { Evidence, RuleName, Urgency } from '../core/fold/outputs.ts'
import type { PushAnswer } from '../core/messages/answer.ts'
import type { MessageKind } from '../core/messages/decide.ts'
import type { Message } from '../core/messages/message.ts'
import type { Tongue } from '../core/words/tongue.ts'
import type { QuietHours } from '../core/messages/quiet-hours.ts'

export type Subscription = {
  readonly endpoint: string
  /** Public key of the browser, 65 bytes, base64url. */
  readonly p256dh: string
  /** Shared secret, 16 bytes, base64url. */
  readonly auth: string
}

/** Encrypts, signs and posts one message. Never throws for what the other side does. */
export type SendPush = (request: {
  readonly subscription: Subscription
  readonly message: Message
  /** Address of the web app as the device knows it. */
  readonly origin: string
  readonly maxBytes: number
}) => Promise<PushAnswer>

/** A change of an alert that has not been handed to the outbox yet. */
export type UntoldEvent = {
  readonly alert: string
  readonly rig: string
  readonly hangar: string
  readonly rule: RuleName
  readonly kind: 'raised' | 'changed' | 'over'
  readonly urgency: Urgency
  readonly atS: number
  /** The alert has ended since: a message that it began has no point any more. */
  readonly isAlertOver: boolean
  readonly key: EventKey
}

/** Names a row of the event table: integer key of the rig, rule, raised, at, event. */
export type EventKey = readonly [number, string, number, number, string]

export type AlertNow = {
  readonly alert: string
  readonly rigName: string
  readonly state: 'open' | 'seen' | 'over'
  readonly urgency: Urgency
  readonly sinceS: number
  readonly raisedAtS: number
  readonly overAtS: number | null
  readonly evidence: Evidence
}

export type SilentRig = {
  readonly alert: string
  readonly rig: string
  readonly rigName: string
  readonly sinceS: number
}

/** The alerts of one shard. */
export type AlertBook = {
  /** Of rigs whose analysis has come at least to `reachedS`: one that is catching up may yet find the alert over. */
  untold(limit: number, reachedS: number): Promise<readonly UntoldEvent[]>
  markTold(keys: readonly EventKey[]): Promise<void>
  /** As they are now; deleted ones are missing. */
  alerts(ids: readonly string[]): Promise<readonly AlertNow[]>
  /** Rigs of the hangars for which an alert of the rule `silent` is open. */
  silentRigs(hangars: readonly string[]): Promise<readonly (SilentRig & { readonly hangar: string })[]>
}

export type DeliveryKey = {
  readonly alert: string
  readonly device: string
  readonly atS: number
  readonly kind: MessageKind
}

/** A message whose turn has come, with all that decides about it but the alert. */
export type DueDelivery = DeliveryKey & {
  readonly hangar: string
  readonly rig: string
  readonly rule: RuleName
  readonly urgency: Urgency
  readonly dueAtS: number
  readonly attempts: number
  readonly isShort: boolean
  readonly madeAtS: number
  readonly hasNewer: boolean
  readonly mayKnow: boolean
  /** Reminders about the alert that this device got or will get. */
  readonly reminders: number
  /** `null` if the device, its owner's membership or the hangar is gone. */
  readonly to: Recipient | null
}

export type Recipient = {
  readonly device: string
  readonly subscription: Subscription
  readonly origin: string
  readonly tongue: Tongue
  readonly rigs: readonly string[] | null
  readonly quiet: QuietHours | null
  readonly isQuietForNow: boolean
  readonly hangarName: string
  readonly shard: number
}

/** A row moves only if it is still waiting with the due time that was read: the loser of a race moves nothing. */
export type Move = DeliveryKey & {
  readonly wasDueAtS: number
  readonly state: 'waiting' | 'sent' | 'dropped'
  readonly dueAtS: number
  readonly addAttempts: 0 | 1
  readonly isShort: boolean
  readonly why: string | null
}

export type Settlement = {
  readonly moves: readonly Move[]
  /** Alerts that a message about silence has named although their own turn had not come: they need none of their own. */
  readonly covered: readonly { readonly alert: string; readonly device: string }[]
  /** Rows that have no further use. */
  readonly removals: readonly { readonly alert: string; readonly device: string }[]
  readonly reminders: readonly (DeliveryKey & { readonly of: DeliveryKey })[]
  readonly devices: readonly DeviceResult[]
  readonly tallies: ReadonlyMap<string, number>
}

export type DeviceResult =
  | { readonly device: string; readonly endpoint: string; readonly result: 'reached' | 'gone' }
  | { readonly device: string; readonly endpoint: string; readonly result: 'failed'; readonly why: string }

export type Outbox = {
  /** Adds one row for each event and device that wants it. Again: nothing. */
  handOver(events: readonly (UntoldEvent & { readonly dueAtS: number })[], nowS: number): Promise<void>
  due(nowS: number, limit: number): Promise<readonly DueDelivery[]>
  /** Returns the rows that moved. */
  move(moves: readonly Move[]): Promise<readonly DeliveryKey[]>
  settle(settlement: Settlement, nowS: number): Promise<void>
  /** Removes what no message can follow any more: of devices and members that are gone, and of very old alerts. */
  tidy(nowS: number): Promise<void>
}

/** A row that is to be sent now, with what it is about. */
export type Ready = DueDelivery & { readonly alertNow: AlertNow; readonly rank: number }
/** A message that will be sent, possibly one for several rows. */
export type Group = { readonly rows: readonly Ready[]; readonly to: Recipient }
