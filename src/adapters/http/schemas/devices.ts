/** Phones and browsers that get messages. */
import { z } from '@hono/zod-openapi'
import { DEVICE_RIGS_MAX, PUSH_ENDPOINT_MAX_CHARS } from '../../../core/limits.ts'
import { operation } from '../operation.ts'
import { urgency } from './alerts.ts'
import { id, listOf, name, page, time } from './common.ts'

/** As the browser's `PushSubscription.toJSON()` gives it; what else is in it is left out. */
const subscription = z
  .object({
    endpoint: z.url().max(PUSH_ENDPOINT_MAX_CHARS),
    keys: z.object({ p256dh: z.string().min(1).max(200), auth: z.string().min(1).max(100) }),
  })
  .openapi('Subscription')

const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$/, { message: 'Use a time of day such as 22:00.' })

/** In the owner's time zone. An alert `now` comes through them unless `forNow` is true. */
const quietHours = z
  .object({ from: clock, to: clock, forNow: z.boolean().default(false) })
  .openapi('QuietHours')

const choices = {
  name: name.openapi({ description: 'What you call this device' }),
  rigs: z
    .array(z.string().min(1).max(64))
    .max(DEVICE_RIGS_MAX)
    .nullable()
    .openapi({ description: 'Ids of rigs; null: every rig I can see' }),
  urgencies: z.array(urgency).max(3),
  quietHours: quietHours.nullable(),
}

export const device = z
  .object({
    id,
    name: z.string(),
    rigs: z.array(z.string()).nullable(),
    urgencies: z.array(urgency),
    quietHours: z.object({ from: z.string(), to: z.string(), forNow: z.boolean() }).nullable(),
    madeAt: time,
    /** When its push service last took a message. Whether the phone showed it, only the phone knows. */
    lastReachedAt: time.nullable(),
    /** Set: the subscription has ended; switch notifications on again on that device. */
    endedAt: time.nullable(),
    /** First failure since it was last reached, and a word for the latest. */
    failingSince: time.nullable(),
    failure: z.string().nullable(),
  })
  .openapi('Device')

const deviceOfRig = z
  .object({
    id,
    name: z.string(),
    owner: z.string(),
    lastReachedAt: time.nullable(),
    /** Why it would not get an alert `now` of this rig; null: it would. */
    hindrance: z.enum(['ended', 'other-rigs', 'not-for-now', 'failing']).nullable(),
  })
  .openapi('DeviceOfRig')

/** A device outlives the credential that added it: a leaked token must not be able to listen on after it is revoked. */
export const deviceOperations = {
  readPushKey: operation({
    method: 'get',
    path: '/v1/push/key',
    access: 'person',
    summary: 'The key a browser needs to subscribe',
    answer: z.object({
      /** Base64url of 65 bytes; null: the host has not set push up. */
      key: z.string().nullable(),
    }),
  }),
  listDevices: operation({
    method: 'get',
    path: '/v1/devices',
    access: 'person',
    summary: 'My devices that get messages',
    query: page,
    answer: listOf(device),
  }),
  addDevice: operation({
    method: 'post',
    path: '/v1/devices',
    access: 'session',
    summary: 'Send messages to this device; the same subscription again changes its choices',
    status: 201,
    body: z.object({
      subscription,
      name: choices.name.default('This device'),
      rigs: choices.rigs.default(null),
      urgencies: choices.urgencies.default(['now', 'visit']),
      quietHours: choices.quietHours.default(null),
    }),
    answer: device,
  }),
  changeDevice: operation({
    method: 'patch',
    path: '/v1/devices/{device}',
    access: 'session',
    summary: 'Change what a device gets, or renew its subscription',
    body: z.object({
      subscription: subscription.optional(),
      name: choices.name.optional(),
      rigs: choices.rigs.optional(),
      urgencies: choices.urgencies.optional(),
      quietHours: choices.quietHours.optional(),
    }),
    answer: device,
  }),
  removeDevice: operation({
    method: 'delete',
    path: '/v1/devices/{device}',
    access: 'person',
    summary: 'Send nothing more to a device',
  }),
  testDevice: operation({
    method: 'post',
    path: '/v1/devices/{device}/test',
    access: 'person',
    summary: 'Send a test message now',
    answer: z.object({
      /** `taken`: the push service has it; the phone shows it when it is on and connected. */
      outcome: z.enum(['taken', 'ended', 'refused', 'later']),
      /** What happened, in a sentence. */
      detail: z.string(),
    }),
  }),
  readReach: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/reach',
    access: 'watcher',
    summary: 'Who would get a message about this rig, and when each device was last reached',
    answer: z.object({
      /** True: an alert `now` of this rig would be pushed to nobody. */
      nobody: z.boolean(),
      /** False: the host has not set push up. */
      pushOn: z.boolean(),
      devices: z.array(deviceOfRig),
    }),
  }),
} as const
