/** What somebody has to know about. */
import { z } from '@hono/zod-openapi'
import { operation } from '../operation.ts'
import { id, listOf, page, time } from './common.ts'

export const urgency = z.enum(['now', 'visit', 'note']).openapi('Urgency')

export const alert = z
  .object({
    id,
    rig: id,
    hangar: id,
    rule: z.string(),
    urgency,
    state: z.enum(['open', 'seen', 'over']),
    /** First reading for which it held. */
    since: time,
    raisedAt: time,
    overAt: time.nullable(),
    /** `late-input`: a late reading or entry showed that it never held. */
    overWhy: z.enum(['late-input']).nullable(),
    seenAt: time.nullable(),
    /** A few words, to stand after the rig's name. */
    title: z.string(),
    sentence: z.string(),
    /** Likeliest first. */
    causes: z.array(z.string()),
    notMeasured: z.array(z.string()),
    /** The test that tells the causes apart. */
    decides: z.string(),
    evidence: z.record(z.string(), z.union([z.number(), z.string(), z.boolean(), z.null()])),
    /** What to look at, in this order. */
    check: z.array(z.string()),
  })
  .openapi('Alert')

export const alertOperations = {
  listAlerts: operation({
    method: 'get',
    path: '/v1/alerts',
    access: 'person',
    summary: 'All alerts that are not over, of all hangars I can see: most urgent first, then oldest',
    query: page,
    answer: listOf(alert),
  }),
  listAlertsOfRig: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/alerts',
    access: 'watcher',
    summary: 'Alerts of a rig, newest first',
    query: page,
    answer: listOf(alert),
  }),
  seeAlert: operation({
    method: 'post',
    path: '/v1/alerts/{alert}/seen',
    access: 'watcher',
    summary: 'Mark an alert as seen, for the whole hangar',
    answer: alert,
  }),
} as const
