/** Puts an operation on the app: who calls, may they, is the request in order, then the handler. */
import type { Context } from 'hono'
import type { z } from '@hono/zod-openapi'
import type { App, Caller, HttpEnv, HttpPorts } from './context.ts'
import { authorize } from './authorize.ts'
import { identify } from './identify.ts'
import { isOriginGood } from './origin.ts'
import {
  doesWrite,
  routeOf,
  type AnswerOf,
  type BodyOf,
  type OperationConfig,
  type ParamsOf,
  type QueryOf,
} from './operation.ts'
import { isRefusal, problemResponse, refuse, type Refusal } from './problem.ts'

export type Ask<C extends OperationConfig> = {
  readonly params: ParamsOf<C>
  readonly query: QueryOf<C>
  readonly body: BodyOf<C>
  readonly caller: Caller
  readonly at: HttpEnv['Variables']['at']
  readonly ports: HttpPorts
  readonly nowS: number
  readonly origin: string
  /** For cookies and streams; everything else is in the fields beside. */
  readonly context: Context<HttpEnv>
}

export type Reply<C extends OperationConfig> = AnswerOf<C> | Refusal | Response

export function serve<C extends OperationConfig>(
  app: App,
  config: C,
  handle: (ask: Ask<C>) => Promise<Reply<C>> | Reply<C>,
): void {
  const guard = async (c: Context<HttpEnv>, next: () => Promise<void>) => {
    const refusal = await refuseEarly(c, config)
    if (refusal !== null) return problemResponse(refusal, c.var.requestId)
    await next()
    return undefined
  }
  const route = routeOf(config)
  const respond = async (c: Context<HttpEnv>) => {
    const reply = await handle(askOf(c, config))
    if (reply instanceof Response) return reply
    if (isRefusal(reply)) return problemResponse(reply, c.var.requestId)
    if (reply === undefined) return c.body(null, 204)
    return c.json(reply, config.status === 204 ? 200 : (config.status ?? 200))
  }
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- the handler's type is checked by `serve` itself
  app.openapi({ ...route, middleware: guard }, respond as never)
}

async function refuseEarly(c: Context<HttpEnv>, config: OperationConfig): Promise<Refusal | null> {
  if (doesWrite(config) && !isOriginGood(c)) return refuse('wrong-origin')
  if (config.limited === true && !(await c.var.ports.attempts.allow(addressOf(c))))
    return refuse('too-many-attempts', { retryAfterS: 60 })
  const caller = await identify(c)
  if (isRefusal(caller)) return caller
  c.set('caller', caller)
  return authorize(c, config)
}

/** The platform's own header; a client cannot forge it there. Without one all callers share a count. */
function addressOf(c: Context<HttpEnv>): string {
  return c.req.header('cf-connecting-ip') ?? 'local'
}

/** The validators in front have made the parts of the request what the operation's schemas say. */
function askOf<C extends OperationConfig>(c: Context<HttpEnv>, config: C): Ask<C> {
  /* oxlint-disable typescript/no-unsafe-type-assertion -- checked at run time by the schemas these types come from */
  const valid = c.req.valid.bind(c.req) as (target: 'json' | 'query') => unknown
  const parts = {
    params: c.req.param() as ParamsOf<C>,
    query: (config.query === undefined ? undefined : valid('query')) as QueryOf<C>,
    body: (config.body === undefined ? undefined : valid('json')) as BodyOf<C>,
  }
  /* oxlint-enable typescript/no-unsafe-type-assertion */
  const { ports, caller, at, nowS, origin } = c.var
  return { ...parts, caller, at, ports, nowS, origin, context: c }
}

/** What a schema found wrong, as places in the request and never as the library's own words about its insides. */
export function invalid(target: string, error: z.core.$ZodError): Refusal {
  const errors = error.issues.slice(0, 20).map((issue) => ({
    pointer: pointerTo(target, issue.path),
    detail: detailOf(issue),
  }))
  return refuse('invalid', { errors })
}

/** Text too short or too long is what people meet, and they read this in a form. */
function detailOf(issue: z.core.$ZodIssue): string {
  if (issue.code === 'too_big' && issue.origin === 'string') return `at most ${issue.maximum} characters`
  if (issue.code !== 'too_small' || issue.origin !== 'string') return issue.message
  return issue.minimum === 1 ? 'this is needed' : `at least ${issue.minimum} characters`
}

function pointerTo(target: string, path: readonly PropertyKey[]): string {
  const steps = path.map((step) => `/${String(step).replaceAll('~', '~0').replaceAll('/', '~1')}`).join('')
  return target === 'json' ? steps : `#${target}${steps}`
}
