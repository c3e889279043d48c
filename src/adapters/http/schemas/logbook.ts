/** What people enter. */
import { z } from '@hono/zod-openapi'
import { LOG_KINDS } from '../../../core/logbook/kinds.ts'
import { operation } from '../operation.ts'
import { id, listOf, page, span, time } from './common.ts'

export const logWhat = z.enum(LOG_KINDS).openapi('LogWhat')

/** Names and values by `what`; unknown names are kept and ignored. */
const detailIn = z
  .preprocess(refuseProto, z.record(z.string().max(40), z.union([z.string(), z.number(), z.boolean()])))
  .openapi('LogDetail', {
    example: { tempC: 120, hours: 4, jar: 'blue' },
  })

/** The one name that a record's schema leaves out without a word. */
function refuseProto(given: unknown, context: z.RefinementCtx): unknown {
  if (typeof given === 'object' && given !== null && Object.hasOwn(given, '__proto__'))
    context.addIssue({ code: 'custom', path: ['__proto__'], message: 'not a name' })
  return given
}

export const logEntry = z
  .object({
    id,
    at: time,
    what: z.string(),
    detail: z.record(z.string(), z.string()),
    /** Id of the person; `null` for the host and scripts of old. */
    by: id.nullable(),
    madeAt: time,
  })
  .openapi('LogEntry')

export const logbookOperations = {
  listLog: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/logbook',
    access: 'watcher',
    summary: 'The logbook, newest first',
    query: page.extend(span.shape),
    answer: listOf(logEntry),
  }),
  addLog: operation({
    method: 'post',
    path: '/v1/rigs/{rig}/logbook',
    access: 'keeper',
    summary: 'Enter a flight, bake, weighing, salt check and so on',
    status: 201,
    body: z.object({ at: time, what: logWhat, detail: detailIn.default({}) }),
    answer: logEntry,
  }),
  changeLog: operation({
    method: 'patch',
    path: '/v1/rigs/{rig}/logbook/{entry}',
    access: 'keeper',
    summary: 'Correct an entry; what followed from it is worked out again',
    body: z
      .object({ at: time.optional(), what: logWhat.optional(), detail: detailIn.optional() })
      .refine(({ what, detail }) => (what === undefined) === (detail === undefined), {
        message: '`what` and `detail` go together.',
        path: ['detail'],
      }),
    answer: logEntry,
  }),
  removeLog: operation({
    method: 'delete',
    path: '/v1/rigs/{rig}/logbook/{entry}',
    access: 'keeper',
    summary: 'Remove an entry; what followed from it is worked out again',
  }),
} as const
