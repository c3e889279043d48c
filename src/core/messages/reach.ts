import type { Urgency } from '../fold/outputs.ts'
import { PUSH_UNREACHED_AFTER_S } from '../limits.ts'

/** A device of somebody in the hangar, as far as it matters for whether an alert of one rig would arrive. */
export type Reachable = {
  readonly device: string
  readonly isSubscribed: boolean
  /** This rig is among those its owner chose. */
  readonly hasRig: boolean
  readonly urgencies: readonly Urgency[]
  readonly reachedAtS: number | null
  /** First failure since it was last reached; `null` if the last message got through, or none was sent. */
  readonly failedAtS: number | null
}

/** Why a device would not get an alert `now` of this rig; `null` if it would, as far as anyone can tell. */
export type Hindrance = 'ended' | 'other-rigs' | 'not-for-now' | 'failing'

export function hindranceOf(one: Reachable, nowS: number): Hindrance | null {
  if (!one.isSubscribed) return 'ended'
  if (!one.hasRig) return 'other-rigs'
  if (!one.urgencies.includes('now')) return 'not-for-now'
  if (one.failedAtS !== null && nowS - one.failedAtS > PUSH_UNREACHED_AFTER_S) return 'failing'
  return null
}

/** True if an alert `now` of this rig would be pushed to nobody: it stands on the first screen, and there alone. */
export function wouldReachNobody(devices: readonly Reachable[], nowS: number): boolean {
  return devices.every((one) => hindranceOf(one, nowS) !== null)
}
