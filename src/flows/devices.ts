import { failureWord, judgeAnswer, type Outcome } from '../core/messages/answer.ts'
import { testMessage } from '../core/messages/message.ts'
import { hindranceOf, wouldReachNobody, type Hindrance, type Reachable } from '../core/messages/reach.ts'
import { DEVICES_PER_PERSON_MAX, PUSH_PAYLOAD_MAX_BYTES, PUSH_TEST_EVERY_S } from '../core/limits.ts'
import type { Device, DeviceChoices, DeviceStore, HangarDevice } from './device-ports.ts'
import type { SendPush, Subscription } from './message-ports.ts'
import { endpointProblem, type EndpointProblem, type EndpointRules } from './push-endpoint.ts'

/** How this deployment sends; `null` keys: push is not set up. */
export type PushSetting = {
  readonly publicKey: string
  /** The host has set an address at which a push service can reach them. */
  readonly hasContact: boolean
  readonly rules: EndpointRules
  readonly send: SendPush
}

export type DevicePorts = { readonly devices: DeviceStore; readonly push: PushSetting | null }

export type DeviceRefusal =
  | { readonly reason: 'push_off' }
  | { readonly reason: 'no_contact' }
  | { readonly reason: 'bad_endpoint'; readonly problem: EndpointProblem }
  | { readonly reason: 'bad_keys'; readonly which: 'p256dh' | 'auth' }
  | { readonly reason: 'other_keys' }
  | { readonly reason: 'too_many'; readonly most: number }
  | { readonly reason: 'not_there' }

/**
 * What is wrong with a subscription, or `null`. Off this machine the host must have given a contact: one of the push
 * services refuses every message without, and nobody would learn why.
 */
export function subscriptionProblem(
  push: PushSetting | null,
  subscription: Subscription,
  origin: string,
): DeviceRefusal | null {
  if (!push) return { reason: 'push_off' }
  if (!push.hasContact && !isLoopback(origin)) return { reason: 'no_contact' }
  const problem = endpointProblem(subscription.endpoint, push.rules)
  if (problem) return { reason: 'bad_endpoint', problem }
  // An uncompressed point of P-256 is 65 bytes and begins with 4; the secret is 16 bytes (RFC 8291 section 2).
  const point = base64UrlBytes(subscription.p256dh)
  if (point?.length !== 65 || point[0] !== 4) return { reason: 'bad_keys', which: 'p256dh' }
  if (base64UrlBytes(subscription.auth)?.length !== 16) return { reason: 'bad_keys', which: 'auth' }
  return null
}

function isLoopback(origin: string): boolean {
  const name = URL.parse(origin)?.hostname
  return name === 'localhost' || name === '127.0.0.1' || name === '[::1]'
}

function base64UrlBytes(text: string): Uint8Array | null {
  if (!/^[A-Za-z0-9_-]{1,200}=*$/.test(text)) return null
  try {
    const plain = atob(text.replaceAll('=', '').replaceAll('-', '+').replaceAll('_', '/'))
    return Uint8Array.from(plain, (letter) => letter.codePointAt(0) ?? 0)
  } catch {
    return null
  }
}

/** Adds a device, or renews the one that this browser already is. */
export async function addDevice(
  ports: DevicePorts,
  wanted: DeviceChoices & {
    readonly id: string
    readonly person: string
    readonly origin: string
    readonly subscription: Subscription
  },
  nowS: number,
): Promise<Device | DeviceRefusal> {
  const problem = subscriptionProblem(ports.push, wanted.subscription, wanted.origin)
  if (problem) return problem
  const mine = await ports.devices.ofPerson(wanted.person)
  const isKnown = mine.some((one) => one.subscription?.endpoint === wanted.subscription.endpoint)
  if (!isKnown && mine.length >= DEVICES_PER_PERSON_MAX) {
    return { reason: 'too_many', most: DEVICES_PER_PERSON_MAX }
  }
  const fresh: Device = {
    ...wanted,
    madeAtS: nowS,
    reachedAtS: null,
    endedAtS: null,
    failedAtS: null,
    failure: null,
  }
  const added = await ports.devices.add(fresh)
  if (added === 'other-keys') return { reason: 'other_keys' }
  return (await ports.devices.byId(wanted.person, added.id)) ?? { reason: 'not_there' }
}

export async function changeDevice(
  ports: DevicePorts,
  of: { readonly person: string; readonly id: string; readonly origin: string },
  change: Partial<DeviceChoices> & { readonly subscription?: Subscription },
): Promise<Device | DeviceRefusal> {
  const { subscription } = change
  const problem = subscription ? subscriptionProblem(ports.push, subscription, of.origin) : null
  if (problem) return problem
  const more = subscription ? { ...change, origin: of.origin } : change
  const changed = await ports.devices.change(of.person, of.id, more)
  if (changed !== 'done') return { reason: changed === 'none' ? 'not_there' : 'other_keys' }
  return (await ports.devices.byId(of.person, of.id)) ?? { reason: 'not_there' }
}

export type TestResult =
  | { readonly kind: 'tried'; readonly outcome: Outcome }
  | { readonly kind: 'too-soon'; readonly everyS: number }
  | { readonly kind: 'ended' }
  | DeviceRefusal

/** Sends the test message at once and records what came of it, as for any other message. */
export async function testDevice(
  ports: DevicePorts,
  of: { readonly person: string; readonly id: string },
  nowS: number,
): Promise<TestResult> {
  if (!ports.push) return { reason: 'push_off' }
  const device = await ports.devices.byId(of.person, of.id)
  if (!device) return { reason: 'not_there' }
  const { subscription } = device
  if (!subscription) return { kind: 'ended' }
  if (!(await ports.devices.takeTest(of.id, nowS, PUSH_TEST_EVERY_S))) {
    return { kind: 'too-soon', everyS: PUSH_TEST_EVERY_S }
  }
  const answer = await ports.push.send({
    subscription,
    message: testMessage(device, nowS),
    origin: device.origin,
    maxBytes: PUSH_PAYLOAD_MAX_BYTES,
  })
  const outcome = judgeAnswer(answer)
  await ports.devices.noteResult(resultOf(device.id, subscription.endpoint, outcome), nowS)
  return { kind: 'tried', outcome }
}

function resultOf(device: string, endpoint: string, outcome: Outcome) {
  if (outcome.kind === 'sent') return { device, endpoint, result: 'reached' } as const
  if (outcome.kind === 'gone') return { device, endpoint, result: 'gone' } as const
  return { device, endpoint, result: 'failed', why: failureWord(outcome) } as const
}

export type Reach = {
  /** True: an alert `now` of this rig would be pushed to nobody. */
  readonly isNobody: boolean
  readonly isPushOn: boolean
  readonly devices: readonly (HangarDevice & { readonly hindrance: Hindrance | null })[]
}

/** Who would get an alert `now` of this rig, and when each of their devices was last reached. */
export async function reachOfRig(
  ports: DevicePorts,
  of: { readonly hangar: string; readonly rig: string },
  nowS: number,
): Promise<Reach> {
  const all = await ports.devices.ofHangar(of.hangar)
  const reachable = all.map((one) => reachableOf(one, of.rig))
  return {
    isNobody: !ports.push || wouldReachNobody(reachable, nowS),
    isPushOn: ports.push !== null,
    devices: all.map((one) =>
      Object.assign({}, one, { hindrance: hindranceOf(reachableOf(one, of.rig), nowS) }),
    ),
  }
}

function reachableOf(one: HangarDevice, rig: string): Reachable {
  return {
    device: one.id,
    isSubscribed: one.isSubscribed,
    hasRig: one.rigs === null || one.rigs.includes(rig),
    urgencies: one.urgencies,
    reachedAtS: one.reachedAtS,
    failedAtS: one.failedAtS,
  }
}
