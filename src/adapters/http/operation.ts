/**
 * An operation is one call of the API, described once: the schemas here validate what comes in, type the handler and
 * the web app's calls, and make the OpenAPI document. Who may call it is part of the description, so a route cannot
 * exist without an answer to that question, and the isolation test finds every route by reading the document.
 */
import { createRoute, z } from '@hono/zod-openapi'
import { problem } from './schemas/problem.ts'

/**
 * public: anybody. person: anyone signed in, or the host. session: a person at a browser, never a token (a token must
 * not be able to make itself a successor). watcher, keeper: that role in the hangar that the path leads to, or the
 * host; with `byToken: false` for the same reason not by a token. host: the host token alone.
 */
export type Access = 'public' | 'person' | 'session' | 'watcher' | 'keeper' | 'host'

type Method = 'get' | 'post' | 'put' | 'patch' | 'delete'

export type OperationConfig = {
  readonly method: Method
  readonly path: `/${string}`
  readonly access: Access
  readonly summary: string
  readonly answer?: z.ZodType
  /** 200 unless said; 204 without an `answer`. */
  readonly status?: 200 | 201 | 202 | 204
  readonly body?: z.ZodType
  readonly query?: z.ZodObject
  /** What changes something needs a token that may write, and a known origin. Default: everything but GET. */
  readonly writes?: boolean
  /** `false`: a person at a browser or the host, never a token: what it opens would outlive the token. */
  readonly byToken?: boolean
  /** Signing in and the like: each attempt counts against the caller's address. */
  readonly limited?: boolean
  /** Still answers while the hangar is being deleted. */
  readonly whileDeleting?: boolean
  /** Media type of an answer that is not JSON; the handler then returns a `Response`. */
  readonly media?: string
}

/** Gives the literal types back unchanged, so that handlers and the web app can read them. */
export function operation<const C extends OperationConfig>(config: C): C {
  return config
}

type ParamNames<P extends string> = P extends `${string}{${infer Name}}${infer Rest}`
  ? Name | ParamNames<Rest>
  : never

export type ParamsOf<C extends OperationConfig> = { readonly [N in ParamNames<C['path']>]: string }
export type BodyOf<C> = C extends { readonly body: infer S extends z.ZodType } ? z.output<S> : undefined
export type QueryOf<C> = C extends { readonly query: infer S extends z.ZodType } ? z.output<S> : undefined
export type AnswerOf<C> = C extends { readonly answer: infer S extends z.ZodType } ? z.input<S> : undefined

/** What a caller sends, before defaults are filled in. */
export type BodyInOf<C> = C extends { readonly body: infer S extends z.ZodType } ? z.input<S> : undefined
export type QueryInOf<C> = C extends { readonly query: infer S extends z.ZodType } ? z.input<S> : undefined

/** May a personal token that may write do this? */
export function isForTokens(config: OperationConfig): boolean {
  return config.byToken ?? (config.access !== 'session' && config.access !== 'host')
}

export function paramNames(path: string): string[] {
  return [...path.matchAll(/\{(\w+)\}/g)].map((match) => match[1] ?? '')
}

export function doesWrite(config: OperationConfig): boolean {
  return config.writes ?? config.method !== 'get'
}

/** The kind of thing the first name in the path is: it leads to a hangar, and with it to a role. */
export type Scope = 'hangar' | 'rig' | 'source' | 'alert'

export function scopeOf(config: OperationConfig): Scope | null {
  const [first] = paramNames(config.path)
  return first === 'hangar' || first === 'rig' || first === 'source' || first === 'alert' ? first : null
}

/** The route as the OpenAPI document shows it. `x-access`, `x-writes` and `x-by-token` say who may call it. */
export function routeOf(config: OperationConfig) {
  const status = config.status ?? (config.answer === undefined && config.media === undefined ? 204 : 200)
  return createRoute({
    method: config.method,
    path: config.path,
    summary: config.summary,
    'x-access': config.access,
    'x-writes': doesWrite(config),
    'x-by-token': isForTokens(config),
    ...(config.access === 'public' ? { security: [] } : {}),
    request: requestOf(config),
    responses: { [status]: answerOf(config), default: problemAnswer },
  })
}

const problemAnswer = {
  description: 'What went wrong, RFC 9457',
  content: { 'application/problem+json': { schema: problem } },
}

function answerOf(config: OperationConfig) {
  if (config.media !== undefined)
    return { description: config.summary, content: { [config.media]: { schema: z.string() } } }
  if (config.answer === undefined) return { description: 'Done' }
  return { description: config.summary, content: { 'application/json': { schema: config.answer } } }
}

function requestOf(config: OperationConfig) {
  const names = paramNames(config.path)
  return {
    ...(names.length > 0
      ? { params: z.object(Object.fromEntries(names.map((name) => [name, z.string().max(200)]))) }
      : {}),
    ...(config.query === undefined ? {} : { query: config.query }),
    ...(config.body === undefined
      ? {}
      : { body: { required: true, content: { 'application/json': { schema: config.body } } } }),
  }
}
