/** POST /v1/readings: the one call that hubs make. Every outcome is an answer with a stable form. */
import type { BodyProblem } from '../../core/ingest/found.ts'
import { mediaTypeOf } from '../../core/ingest/media-type.ts'
import type { IngestPorts, IngestRefusal } from '../../flows/ingest.ts'
import { admit, ingest } from '../../flows/ingest.ts'
import type { Log } from './context.ts'
import { readPostBody } from './post-body.ts'
import type { Refusal } from './problem.ts'
import { problemResponse, refuse } from './problem.ts'

export type ReadingsCall = {
  readonly ports: IngestPorts
  readonly clock: () => number
  readonly requestId: string
  readonly log: Log
}

export async function takeReadings(request: Request, call: ReadingsCall): Promise<Response> {
  try {
    return await answerTo(request, call)
  } catch (error) {
    call.log({ event: 'ingest-failed', request: call.requestId, message: String(error).slice(0, 300) })
    const refusal = refuse('unavailable', { retryAfterS: retryAfterS(error, call.clock()) })
    return problemResponse(refusal, call.requestId)
  }
}

async function answerTo(request: Request, call: ReadingsCall): Promise<Response> {
  const { ports, clock } = call
  const found = keyOf(request)
  if (found === null) return refused(call, refuse('unauthorized'))
  const admitted = await admit(ports, { ...found, nowS: clock() })
  if ('refused' in admitted) return refused(call, ingestRefusal(admitted))
  const body = await readPostBody(request)
  if (!body.ok) return refused(call, BODY_REFUSALS[body.reason])
  const contentType = request.headers.get('content-type')
  const post = { ...body, contentType, mediaType: mediaTypeOf(contentType) }
  // A slow line takes minutes for a body, and what is late is told by when it is stored.
  const nowS = clock()
  const result = await ingest(ports, admitted, { post, receivedS: nowS, nowS })
  return 'refused' in result ? refused(call, ingestRefusal(result)) : Response.json(result.answer)
}

const BODY_REFUSALS = {
  too_large: refuse('too-large', { detail: 'The body is larger than 1 MiB, unzipped.' }),
  unknown_encoding: refuse('unsupported-media', { detail: 'Only gzip is read as a content encoding.' }),
} as const

function refused(call: ReadingsCall, refusal: Refusal): Response {
  return problemResponse(refusal, call.requestId)
}

/** The key where hubs can put it: Bearer, the password of Basic, or the query where the source allows that. */
function keyOf(request: Request): { key: string; isFromQuery: boolean } | null {
  const header = request.headers.get('authorization')
  if (header === null) {
    const key = new URL(request.url).searchParams.get('key')
    return key === null ? null : { key, isFromQuery: true }
  }
  const [scheme, value] = splitOnce(header.trim(), ' ')
  if (scheme.toLowerCase() === 'bearer') return { key: value.trim(), isFromQuery: false }
  return scheme.toLowerCase() === 'basic' ? basicPassword(value.trim()) : null
}

function basicPassword(encoded: string): { key: string; isFromQuery: boolean } | null {
  try {
    return { key: splitOnce(atob(encoded), ':')[1], isFromQuery: false }
  } catch {
    return null
  }
}

function splitOnce(text: string, separator: string): [string, string] {
  const at = text.indexOf(separator)
  return at < 0 ? [text, ''] : [text.slice(0, at), text.slice(at + separator.length)]
}

const BODY_PROBLEMS = {
  not_parseable: 'bad-request',
  no_record: 'no-record',
  unsupported_type: 'unsupported-media',
} as const

export function ingestRefusal(refusal: IngestRefusal): Refusal {
  switch (refusal.refused) {
    case 'key':
      return refuse('unauthorized')
    case 'burst':
      return refuse('too-many-posts', {
        retryAfterS: refusal.retryAfterS,
        detail: 'More posts a minute than one source may send.',
      })
    case 'allowance':
      return refuse('too-many-posts', {
        retryAfterS: refusal.retryAfterS,
        detail: `This source has stored its ${refusal.limit} readings for the day (UTC).`,
      })
    case 'too_many_records':
      return refuse('too-large', {
        detail: `${refusal.found} records: at most ${refusal.limit} in one post.`,
      })
    default:
      return bodyRefusal(refusal)
  }
}

/** For a body in which no record can be found, whoever asks. */
export function bodyRefusal(problem: BodyProblem): Refusal {
  return refuse(BODY_PROBLEMS[problem.problem], {
    detail: problem.detail,
    ...(problem.errors === undefined ? {} : { errors: problem.errors }),
  })
}

const RETRY_S = 30
const DAY_S = 86_400

/**
 * A database that does not answer is asked again soon; one that is over its daily quota comes back at midnight UTC. Only
 * a message that speaks of the day's quota counts (the platform's wording is from memory): sent away for a day by a
 * time-out that "exceeded" something, a hub's buffer would run over.
 */
const OVER_FOR_THE_DAY = /\bquota\b|\bdaily\b[^.]*\blimit|\blimit\b[^.]*\b(?:per day|for today|daily)\b/i

export function retryAfterS(error: unknown, nowS: number): number {
  return OVER_FOR_THE_DAY.test(String(error)) ? DAY_S - (nowS % DAY_S) : RETRY_S
}
