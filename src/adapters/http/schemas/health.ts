import { z } from '@hono/zod-openapi'
import { operation } from '../operation.ts'
import { time } from './common.ts'

export const health = z
  .object({
    ok: z.boolean(),
    /** When the schedule last ran to its end. */
    checkedAt: time.nullable(),
    host: z
      .object({
        shards: z.int(),
        rigsSetBack: z.int(),
        rigsBehind: z.int(),
        deliveriesWaiting: z.int(),
        /** Due for more than an hour: something is in their way. */
        deliveriesOverdue: z.int(),
        /** Devices whose push service refuses us: the key or the contact is wrong. */
        devicesRefused: z.int(),
        /** What went wrong today and yesterday (UTC), by its word. */
        errors: z.record(z.string(), z.int()),
      })
      .optional(),
  })
  .openapi('Health')

export const healthOperations = {
  readHealth: operation({
    method: 'get',
    path: '/healthz',
    access: 'public',
    summary: 'Is the schedule running? 503 when it has not for 15 minutes; more for the host',
    answer: health,
  }),
} as const
