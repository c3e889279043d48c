/** The session cookie: host-bound, out of reach of scripts, not sent along by other sites. */
import type { Context } from 'hono'
import { deleteCookie, setCookie } from 'hono/cookie'
import { SESSION_ABSOLUTE_S } from '../../core/limits.ts'
import type { HttpEnv } from './context.ts'
import { SESSION_COOKIE } from './identify.ts'

/** Browsers take `Secure` from http://localhost too, so the local server needs no weaker cookie. */
export function giveSession(c: Context<HttpEnv>, secret: string): void {
  setCookie(c, SESSION_COOKIE, secret, {
    path: '/',
    secure: true,
    httpOnly: true,
    sameSite: 'Lax',
    maxAge: SESSION_ABSOLUTE_S,
  })
}

export function takeSession(c: Context<HttpEnv>): void {
  deleteCookie(c, SESSION_COOKIE, { path: '/', secure: true, httpOnly: true, sameSite: 'Lax' })
}
