/** Headers on every answer of the API. The pages' own headers are in the assets' `_headers` file. */
import type { MiddlewareHandler } from 'hono'
import type { HttpEnv } from './context.ts'

/** Answers are data, never a page: nothing may be loaded, framed or guessed from them. */
const FIXED: readonly (readonly [string, string])[] = [
  [
    'content-security-policy',
    "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
  ],
  ['x-content-type-options', 'nosniff'],
  ['x-frame-options', 'DENY'],
  ['referrer-policy', 'no-referrer'],
  ['cross-origin-resource-policy', 'same-origin'],
  ['cross-origin-opener-policy', 'same-origin'],
  ['permissions-policy', 'camera=(), geolocation=(), microphone=(), payment=(), usb=()'],
]

export const safeHeaders: MiddlewareHandler<HttpEnv> = async (c, next) => {
  await next()
  for (const [name, value] of FIXED) c.res.headers.set(name, value)
  if (!c.res.headers.has('cache-control')) c.res.headers.set('cache-control', 'no-store')
  c.res.headers.set('x-request-id', c.var.requestId)
  if (c.var.origin.startsWith('https:')) c.res.headers.set('strict-transport-security', 'max-age=31536000')
}
