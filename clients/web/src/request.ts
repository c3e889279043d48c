/** One way to the server: JSON in, JSON out, and every failure as a value with words a person can read. */
import type { Call } from './api.ts'

export type Problem =
  | { kind: 'offline' }
  | { kind: 'signed-out' }
  | { kind: 'not-there' }
  | { kind: 'refused'; status: number; title: string; errors: PlaceProblem[] }
  | { kind: 'busy'; retryAfterS: number | null }
  /** It answered that it could not: nothing is known of what was asked, and what was known before may still hold. */
  | { kind: 'failing'; status: number }

/** What the server found wrong at one place of the request; `range` for a number out of it. */
export type PlaceProblem = { pointer: string | null; detail: string; range?: Range | undefined }
type Range = { min: number; max: number }

export type Answer<T> = { ok: true; value: T } | { ok: false; problem: Problem }

/** A request that hears nothing for this long counts as no network: a hangar's signal often hangs rather than fails. */
const answerMaxMs = 20_000

export async function request<T>({ method, path, body }: Call<T>): Promise<Answer<T>> {
  let response: Response
  try {
    response = await fetch(path, {
      method,
      credentials: 'same-origin',
      signal: AbortSignal.timeout(answerMaxMs),
      headers: body === undefined ? { accept: 'application/json' } : { 'content-type': 'application/json' },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    })
  } catch {
    return { ok: false, problem: { kind: 'offline' } }
  }
  // The health answer is a 503 when the checks stand still, and then its body matters most: plain JSON is an answer.
  const isAnswer = response.headers.get('content-type')?.startsWith('application/json') ?? false
  if (!response.ok && !(response.status === 503 && isAnswer)) {
    return { ok: false, problem: await problemOf(response) }
  }
  try {
    // The server checks its answers against the schemas that these types describe.
    // oxlint-disable-next-line typescript/no-unsafe-type-assertion
    const value = (response.status === 204 ? undefined : await response.json()) as T
    return { ok: true, value }
  } catch {
    return { ok: false, problem: refused(response.status, 'The answer could not be read.') }
  }
}

function refused(status: number, title: string): Problem {
  return { kind: 'refused', status, title, errors: [] }
}

async function problemOf(response: Response): Promise<Problem> {
  const { status } = response
  if (status === 401) return { kind: 'signed-out' }
  if (status === 404) return { kind: 'not-there' }
  if (status === 429 || status === 503) {
    const after = Number(response.headers.get('retry-after'))
    return { kind: 'busy', retryAfterS: Number.isFinite(after) && after > 0 ? after : null }
  }
  if (status >= 500) return { kind: 'failing', status }
  try {
    // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- every part is optional and read as such
    const body = (await response.json()) as {
      title?: string
      detail?: string
      errors?: { pointer?: string; detail?: string; reason?: string; range?: Range }[]
    }
    return {
      kind: 'refused',
      status,
      title: body.detail ?? body.title ?? 'The server refused this.',
      errors: (body.errors ?? []).map(({ pointer, detail, reason, range }) => ({
        pointer: pointer ?? null,
        detail: detail ?? reason ?? '',
        range,
      })),
    }
  } catch {
    return refused(status, `The server answered ${status}.`)
  }
}

/** True where the server said nothing about what was asked: what it said before is the best there is. */
export function isUnanswered({ kind }: Problem): boolean {
  return kind === 'offline' || kind === 'busy' || kind === 'failing'
}

/** What went wrong, for the person holding the phone. */
export function problemSentence(problem: Problem): string {
  switch (problem.kind) {
    case 'offline':
      return 'No answer from the server. Check the network, then try again.'
    case 'signed-out':
      return 'You are signed out on this device.'
    case 'not-there':
      return 'This is not here, or not yours to see.'
    case 'busy':
      return problem.retryAfterS === null
        ? 'The server is busy. Try again in a moment.'
        : `The server is busy. Try again in ${problem.retryAfterS} seconds.`
    case 'failing':
      return 'The server could not answer. Try again in a moment.'
    default:
      // Where in the request it stands means nothing to a person: the field says it, or the words alone do.
      return problem.errors.length === 0
        ? problem.title
        : `This was not taken: ${problem.errors.map((e) => e.detail).join('; ')}.`
  }
}
