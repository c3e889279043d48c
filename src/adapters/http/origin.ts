/**
 * A change must not be made by a page of another site with the visitor's cookie. Browsers send `Origin` with every
 * POST, PUT, PATCH and DELETE; a script with a Bearer credential has no cookie to steal and needs none.
 */
import type { Context } from 'hono'
import { getCookie } from 'hono/cookie'
import type { HttpEnv } from './context.ts'
import { SESSION_COOKIE } from './identify.ts'

export function isOriginGood(c: Context<HttpEnv>): boolean {
  if (c.req.header('authorization') !== undefined) return true
  const site = c.req.header('sec-fetch-site')
  if (site !== undefined && site !== 'same-origin' && site !== 'none') return false
  const origin = c.req.header('origin')
  if (origin !== undefined) return origin === c.var.origin
  return getCookie(c, SESSION_COOKIE) === undefined
}
