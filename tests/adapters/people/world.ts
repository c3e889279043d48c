/** The API over a real database, with a clock that the test turns, and callers of every kind. */
import { applyD1Migrations } from 'cloudflare:test'
import { env } from 'cloudflare:workers'
import { createApp } from '../../../src/adapters/http/app.ts'
import type { HttpPorts } from '../../../src/adapters/http/context.ts'
import { openHttp } from '../../../src/wire.ts'

export const ORIGIN = 'https://hangar.test'
export const HOST_TOKEN = 'host-token-of-the-test-0123456789abcdef'
const START_S = 1_790_000_000

export type Credential = { readonly cookie?: string; readonly bearer?: string }
export const HOST: Credential = { bearer: HOST_TOKEN }
export const NOBODY: Credential = {}

export type Answer = {
  readonly status: number
  readonly headers: Headers
  readonly text: string
  // oxlint-disable-next-line typescript/no-explicit-any -- a test looks into answers of every form
  readonly body: any
  /** Of the session that the answer began, if it did. */
  readonly cookie: string | undefined
}

export type World = Awaited<ReturnType<typeof makeWorld>>

export async function makeWorld(change: Partial<HttpPorts> = {}) {
  await applyD1Migrations(env.DB, env.TEST_MIGRATIONS)
  const clock = { nowS: START_S }
  const log: string[] = []
  const app = createApp(() => ({
    ...openHttp(env),
    nowS: () => clock.nowS,
    log: (line) => void log.push(JSON.stringify(line)),
    attempts: { allow: () => Promise.resolve(true) },
    hostToken: HOST_TOKEN,
    ...change,
  }))

  const call = async (
    who: Credential,
    line: string,
    body?: unknown,
    headers: Record<string, string> = {},
  ): Promise<Answer> => {
    const [method = 'GET', path = '/'] = line.split(' ')
    const answer = await app.request(
      `${ORIGIN}${path}`,
      {
        method,
        headers: {
          ...(who.cookie === undefined ? {} : { cookie: who.cookie, origin: ORIGIN }),
          ...(who.bearer === undefined ? {} : { authorization: `Bearer ${who.bearer}` }),
          ...(body === undefined ? {} : { 'content-type': 'application/json' }),
          ...headers,
        },
        ...(body === undefined ? {} : { body: typeof body === 'string' ? body : JSON.stringify(body) }),
      },
      env,
    )
    return read(answer)
  }
  return { app, call, clock, log, ...people(call) }
}

async function read(answer: Response): Promise<Answer> {
  const text = await answer.text()
  const isJson = /json\b/.test(answer.headers.get('content-type') ?? '')
  const cookie = /^(__Host-beadwatch=[^;]+);/.exec(answer.headers.get('set-cookie') ?? '')?.[1]
  return {
    status: answer.status,
    headers: answer.headers,
    text,
    body: isJson && text !== '' ? JSON.parse(text) : null,
    cookie,
  }
}

type Call = (
  who: Credential,
  line: string,
  body?: unknown,
  headers?: Record<string, string>,
) => Promise<Answer>

function people(call: Call) {
  const hangar = async (name: string): Promise<string> =>
    (await call(HOST, 'POST /v1/hangars', { name })).body.id
  const join = async (to: string, role: 'keeper' | 'watcher', name: string) => {
    const invite = await call(HOST, `POST /v1/hangars/${to}/invites`, { role, name })
    const accepted = await call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token })
    return {
      who: { cookie: accepted.cookie ?? '' } satisfies Credential,
      id: String(accepted.body.person.id),
    }
  }
  const token = async (who: Credential, may: 'read' | 'write'): Promise<Credential> => ({
    bearer: (await call(who, 'POST /v1/tokens', { name: `to ${may}`, may })).body.token,
  })
  return { hangar, join, token }
}
