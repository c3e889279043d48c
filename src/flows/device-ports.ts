/** Devices that get messages, as the database keeps them. Times are Unix seconds. */
import type { Urgency } from '../core/fold/outputs.ts'
import type { PushAnswer } from '../core/messages/answer.ts'
import type { Subscription } from './message-ports.ts'

export type QuietChoice = {
  /** Minutes after midnight in the owner's zone, 0..1439. */
  readonly fromMin: number
  readonly toMin: number
  /** Even an alert `now` waits. */
  readonly isForNow: boolean
}

export type DeviceChoices = {
  readonly name: string
  /** Public ids; `null`: every rig that its owner may see. */
  readonly rigs: readonly string[] | null
  readonly urgencies: readonly Urgency[]
  readonly quiet: QuietChoice | null
}

export type Device = DeviceChoices & {
  readonly id: string
  readonly person: string
  readonly origin: string
  /** `null`: it has ended, the device has to be switched on again. */
  readonly subscription: Subscription | null
  readonly madeAtS: number
  readonly reachedAtS: number | null
  readonly endedAtS: number | null
  readonly failedAtS: number | null
  readonly failure: string | null
}

/** A device on the page of a rig, with its owner's name. */
export type HangarDevice = Omit<Device, 'subscription' | 'origin'> & {
  readonly ownerName: string
  readonly isSubscribed: boolean
}

export type DeviceStore = {
  /** Oldest first. */
  readonly ofPerson: (person: string) => Promise<readonly Device[]>
  readonly byId: (person: string, id: string) => Promise<Device | null>
  /** Devices of all members of a hangar. */
  readonly ofHangar: (hangar: string) => Promise<readonly HangarDevice[]>
  /**
   * Adds it, or takes over the one with the same subscription: the same browser, signed in again, maybe as somebody
   * else. `other-keys`: the endpoint is known under other keys, so it is not the same browser.
   */
  readonly add: (device: Device) => Promise<{ readonly id: string } | 'other-keys'>
  readonly change: (
    person: string,
    id: string,
    change: Partial<DeviceChoices> & {
      readonly subscription?: Subscription
      readonly origin?: string
    },
  ) => Promise<'done' | 'none' | 'other-keys'>
  readonly remove: (person: string, id: string) => Promise<boolean>
  /** False if the last test was less than `everyS` ago. */
  readonly takeTest: (id: string, nowS: number, everyS: number) => Promise<boolean>
  readonly noteResult: (
    result: {
      readonly device: string
      readonly endpoint: string
      readonly result: 'reached' | 'gone' | 'failed'
      readonly why?: string
    },
    nowS: number,
  ) => Promise<void>
}

export type TestPush = (request: {
  readonly subscription: Subscription
  readonly device: { readonly id: string; readonly name: string }
  readonly origin: string
}) => Promise<PushAnswer>
