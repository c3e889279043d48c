/** Who is calling: a Bearer credential if one is shown, else the session cookie, else nobody. */
import type { Context } from 'hono'
import { getCookie } from 'hono/cookie'
import { hashOf, isSameSecret } from '../../flows/people/secrets.ts'
import { findSession, findToken, TOKEN_PREFIX } from '../../flows/people/identify.ts'
import type { Caller, HttpEnv } from './context.ts'
import { refuse, type Refusal } from './problem.ts'

/** Browsers accept a `__Host-` cookie only over TLS or from localhost, for this host alone and the whole of it. */
export const SESSION_COOKIE = '__Host-beadwatch'

export async function identify(c: Context<HttpEnv>): Promise<Caller | Refusal> {
  const authorization = c.req.header('authorization')
  if (authorization !== undefined) return fromBearer(c, authorization)
  const cookie = getCookie(c, SESSION_COOKIE)
  if (cookie === undefined) return { kind: 'nobody' }
  const found = await findSession(c.var.ports.people.access, await hashOf(cookie), c.var.nowS)
  if (found === null) return { kind: 'nobody' }
  return { kind: 'person', person: found.person, by: { kind: 'session', session: found.session } }
}

/** A credential that is shown must be good: falling back to the cookie would hide a mistake. */
async function fromBearer(c: Context<HttpEnv>, authorization: string): Promise<Caller | Refusal> {
  const secret = /^Bearer +(\S+)$/i.exec(authorization)?.[1]
  if (secret === undefined) return refuse('unauthorized')
  const { hostToken, people } = c.var.ports
  if (hostToken !== null && (await isSameSecret(secret, hostToken))) return { kind: 'host' }
  if (!secret.startsWith(TOKEN_PREFIX)) return refuse('unauthorized')
  const found = await findToken(people.access, await hashOf(secret), c.var.nowS)
  if (found === null) return refuse('unauthorized')
  return { kind: 'person', person: found.person, by: { kind: 'token', may: found.token.may } }
}
