/**
 * Everything that can go wrong in a call, in one place: each kind has a stable `type`, a status and a title that says
 * no more than the caller may know. RFC 9457.
 */
import type { Problem, ProblemPlace } from './schemas/problem.ts'

const KINDS = {
  'bad-request': [400, 'The request cannot be read'],
  unauthorized: [401, 'No valid sign-in, token or key came with this request'],
  forbidden: [403, 'Your role does not allow this'],
  'wrong-origin': [403, 'The request comes from another site'],
  'not-found': [404, 'There is nothing here, or it is not yours'],
  conflict: [409, 'That does not fit what is already there'],
  'last-keeper': [409, 'A hangar needs a keeper: hand over first, or delete the hangar'],
  gone: [410, 'This link has been used or is too old'],
  'too-large': [413, 'The request is larger than the limit'],
  'unsupported-media': [415, 'This content type is not read here'],
  invalid: [422, 'Something in the request is not as it should be'],
  'no-record': [422, 'No reading can be found in this body'],
  'too-many-posts': [429, 'This source posts more than it may: wait'],
  'too-many-attempts': [429, 'Too many attempts: wait a little'],
  internal: [500, 'Something failed on our side; it has been noted'],
  unavailable: [503, 'The database does not answer at the moment'],
} as const satisfies Record<string, readonly [number, string]>

export type ProblemKind = keyof typeof KINDS

/** A refusal on its way to the caller. Handlers return it; only the edge makes it an answer. */
export type Refusal = {
  readonly refused: ProblemKind
  readonly detail?: string
  readonly errors?: readonly Readonly<ProblemPlace>[]
  readonly retryAfterS?: number
}

export function refuse(refused: ProblemKind, more: Omit<Refusal, 'refused'> = {}): Refusal {
  return { refused, ...more }
}

export function isRefusal(value: unknown): value is Refusal {
  return typeof value === 'object' && value !== null && 'refused' in value
}

export function problemTitle(kind: ProblemKind): string {
  return KINDS[kind][1]
}

/** The answer for a refusal. `request` is the request id under which the log has the details. */
export function problemResponse(refusal: Refusal, request?: string): Response {
  const [status, title] = KINDS[refusal.refused]
  const body: Problem = {
    type: `/problems/${refusal.refused}`,
    title,
    status,
    ...(refusal.detail === undefined ? {} : { detail: refusal.detail }),
    ...(refusal.errors === undefined ? {} : { errors: [...refusal.errors] }),
    ...(request === undefined ? {} : { request }),
  }
  return new Response(JSON.stringify(body), {
    status,
    headers: {
      'content-type': 'application/problem+json',
      ...(status === 401 ? { 'www-authenticate': 'Bearer' } : {}),
      ...(refusal.retryAfterS === undefined ? {} : { 'retry-after': String(refusal.retryAfterS) }),
    },
  })
}
