/** Devices that get messages: switching them on, choosing what they get, trying them out. */
import type { z } from '@hono/zod-openapi'
import { failureWord } from '../../../core/messages/answer.ts'
import type { Device, QuietChoice } from '../../../flows/device-ports.ts'
import {
  addDevice,
  changeDevice,
  reachOfRig,
  testDevice,
  type DeviceRefusal,
  type TestResult,
} from '../../../flows/devices.ts'
import type { Subscription } from '../../../flows/message-ports.ts'
import type { EndpointProblem } from '../../../flows/push-endpoint.ts'
import type { Person } from '../../../flows/people/ports.ts'
import { makeId } from '../../../flows/people/secrets.ts'
import { personOf } from '../caller.ts'
import type { App, Caller } from '../context.ts'
import { pageOf } from '../page-of.ts'
import { hangarAt } from '../place.ts'
import { isRefusal, refuse, type Refusal } from '../problem.ts'
import { deviceOperations as operations, type device } from '../schemas/devices.ts'
import { serve } from '../serve.ts'
import { timeOf, timeOrNull } from '../time.ts'

export function serveDevices(app: App): void {
  serve(app, operations.readPushKey, ({ ports }) => ({ key: ports.messages.push?.publicKey ?? null }))
  serve(app, operations.listDevices, async ({ caller, ports, query }) => {
    const person = personOf(caller)
    const mine = person === null ? [] : await ports.messages.devices.ofPerson(person.id)
    const { items, next } = pageOf(mine, ({ id }) => id, query)
    return { items: items.map(deviceView), next }
  })
  serve(app, operations.addDevice, async ({ caller, ports, body, nowS, origin }) => {
    const owner = ownerOf(caller)
    if (isRefusal(owner)) return owner
    const { name, rigs, urgencies } = body
    const wanted = {
      id: makeId(),
      person: owner.id,
      origin,
      name,
      rigs,
      urgencies,
      quiet: quietFrom(body.quietHours),
      subscription: subscriptionFrom(body.subscription),
    }
    return answered(await addDevice(ports.messages, wanted, nowS))
  })
  serve(app, operations.changeDevice, async ({ caller, ports, body, params, origin }) => {
    const owner = ownerOf(caller)
    if (isRefusal(owner)) return owner
    const { name, rigs, urgencies, quietHours, subscription } = body
    const change = {
      ...(name === undefined ? {} : { name }),
      ...(rigs === undefined ? {} : { rigs }),
      ...(urgencies === undefined ? {} : { urgencies }),
      ...(quietHours === undefined ? {} : { quiet: quietFrom(quietHours) }),
      ...(subscription === undefined ? {} : { subscription: subscriptionFrom(subscription) }),
    }
    return answered(
      await changeDevice(ports.messages, { person: owner.id, id: params.device, origin }, change),
    )
  })
  serveRest(app)
}

function serveRest(app: App): void {
  serve(app, operations.removeDevice, async ({ caller, ports, params }) => {
    const owner = ownerOf(caller)
    if (isRefusal(owner)) return owner
    const isGone = await ports.messages.devices.remove(owner.id, params.device)
    return isGone ? undefined : refuse('not-found')
  })
  serve(app, operations.testDevice, async ({ caller, ports, params, nowS }) => {
    const owner = ownerOf(caller)
    if (isRefusal(owner)) return owner
    return testView(await testDevice(ports.messages, { person: owner.id, id: params.device }, nowS))
  })
  serve(app, operations.readReach, async ({ ports, params, at, nowS }) => {
    const reach = await reachOfRig(ports.messages, { hangar: hangarAt(at).id, rig: params.rig }, nowS)
    return {
      nobody: reach.isNobody,
      pushOn: reach.isPushOn,
      devices: reach.devices.map((one) => ({
        id: one.id,
        name: one.name,
        owner: one.ownerName,
        lastReachedAt: timeOrNull(one.reachedAtS),
        hindrance: one.hindrance,
      })),
    }
  })
}

/** A device is a person's: the host token belongs to nobody. */
function ownerOf(caller: Caller): Person | Refusal {
  return personOf(caller) ?? refuse('forbidden', { detail: 'A device belongs to a person: sign in as one.' })
}

function subscriptionFrom(sent: { endpoint: string; keys: { p256dh: string; auth: string } }): Subscription {
  return { endpoint: sent.endpoint, p256dh: sent.keys.p256dh, auth: sent.keys.auth }
}

function quietFrom(hours: { from: string; to: string; forNow: boolean } | null): QuietChoice | null {
  if (hours === null) return null
  return { fromMin: minutesOf(hours.from), toMin: minutesOf(hours.to), isForNow: hours.forNow }
}

function minutesOf(clock: string): number {
  const [hours = 0, minutes = 0] = clock.split(':').map(Number)
  return hours * 60 + minutes
}

function clockOf(minutes: number): string {
  return `${twoDigits(Math.floor(minutes / 60))}:${twoDigits(minutes % 60)}`
}

function twoDigits(value: number): string {
  return String(value).padStart(2, '0')
}

function deviceView(one: Device): z.input<typeof device> {
  const { quiet } = one
  return {
    id: one.id,
    name: one.name,
    rigs: one.rigs === null ? null : [...one.rigs],
    urgencies: [...one.urgencies],
    quietHours:
      quiet === null
        ? null
        : { from: clockOf(quiet.fromMin), to: clockOf(quiet.toMin), forNow: quiet.isForNow },
    madeAt: timeOf(one.madeAtS),
    lastReachedAt: timeOrNull(one.reachedAtS),
    endedAt: timeOrNull(one.endedAtS),
    failingSince: timeOrNull(one.failedAtS),
    failure: one.failure,
  }
}

function answered(result: Device | DeviceRefusal): z.input<typeof device> | Refusal {
  return 'reason' in result ? refusalOf(result) : deviceView(result)
}

const ENDPOINT_DETAIL: Readonly<Record<EndpointProblem['reason'], string>> = {
  not_a_url: 'This is not a URL.',
  too_long: 'This is longer than any push service makes it.',
  not_https: 'A push service is reached by https.',
  has_credentials: 'A push endpoint carries no user or password.',
  has_port: 'A push endpoint has no port of its own.',
  unknown_service: "This is none of the browsers' push services. The host can add one to PUSH_HOSTS.",
}

function refusalOf(why: DeviceRefusal): Refusal {
  if (why.reason === 'bad_endpoint')
    return atPlace('/subscription/endpoint', ENDPOINT_DETAIL[why.problem.reason])
  if (why.reason === 'bad_keys')
    return atPlace(`/subscription/keys/${why.which}`, 'This is not the key of a browser.')
  if (why.reason === 'not_there') return refuse('not-found')
  return refuse('conflict', { detail: conflictDetail(why) })
}

function atPlace(pointer: string, detail: string): Refusal {
  return refuse('invalid', { errors: [{ pointer, detail }] })
}

const CONFLICT_DETAIL = {
  push_off: 'The host of this deployment has not set push up.',
  no_contact:
    'The host has to set a real address first, VAPID_CONTACT or BEADWATCH_CONTACT: a push service demands one.',
  other_keys: 'This endpoint is known with other keys: subscribe anew.',
} as const

function conflictDetail(
  why: Extract<DeviceRefusal, { reason: keyof typeof CONFLICT_DETAIL | 'too_many' }>,
): string {
  if (why.reason === 'too_many') return `At most ${why.most} devices: remove one first.`
  return CONFLICT_DETAIL[why.reason]
}

type TestView = { outcome: 'taken' | 'ended' | 'refused' | 'later'; detail: string }

function testView(result: TestResult): TestView | Refusal {
  if ('reason' in result) return refusalOf(result)
  if (result.kind === 'too-soon') return refuse('too-many-attempts', { retryAfterS: result.everyS })
  if (result.kind === 'ended') return ENDED
  const { outcome } = result
  if (outcome.kind === 'sent') {
    return {
      outcome: 'taken',
      detail: 'The push service has taken it; the device shows it when it is connected.',
    }
  }
  if (outcome.kind === 'gone') return ENDED
  if (outcome.kind === 'later') {
    return {
      outcome: 'later',
      detail: `The push service did not take it (${failureWord(outcome)}). Try again later.`,
    }
  }
  return {
    outcome: 'refused',
    detail: `The push service refused it (${failureWord(outcome)}). Tell the host.`,
  }
}

const ENDED: TestView = {
  outcome: 'ended',
  detail: 'This subscription has ended. Switch notifications on again on that device.',
}
