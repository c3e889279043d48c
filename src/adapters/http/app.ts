/**
 * The API: one app, a module of routes for each area. It knows no database: `open` gives the ports for an environment.
 */
import { OpenAPIHono } from '@hono/zod-openapi'
import { bodyLimit } from 'hono/body-limit'
import { HTTPException } from 'hono/http-exception'
import { routePath } from 'hono/route'
import type { Context } from 'hono'
import { CALL_BODY_MAX_BYTES } from '../../core/limits.ts'
import type { Env } from '../../env.ts'
import type { App, HttpEnv, HttpPorts } from './context.ts'
import { safeHeaders } from './headers.ts'
import { describeApi, describeReadings } from './openapi.ts'
import { problemResponse, refuse, type Refusal } from './problem.ts'
import { retryAfterS, takeReadings } from './ingest.ts'
import { invalid } from './serve.ts'
import { serveDevices } from './routes/devices.ts'
import { serveAlerts } from './routes/alerts.ts'
import { serveExports } from './routes/exports.ts'
import { serveHangars } from './routes/hangars.ts'
import { serveHealth } from './routes/health.ts'
import { serveHistory } from './routes/history.ts'
import { serveInvites } from './routes/invites.ts'
import { serveLogbook } from './routes/logbook.ts'
import { serveMe } from './routes/me.ts'
import { serveNow } from './routes/now.ts'
import { servePasskeys } from './routes/passkeys.ts'
import { serveRecord } from './routes/record.ts'
import { serveRigs } from './routes/rigs.ts'
import { serveSizing } from './routes/sizing.ts'
import { serveSources } from './routes/sources.ts'

/** Readings have their own, larger limit, and are read as a stream. */
const READINGS = '/v1/readings'

export function createApp(open: (env: Env) => HttpPorts): App {
  const app: App = new OpenAPIHono<HttpEnv>({
    defaultHook: (result, c) =>
      result.success ? undefined : problemResponse(invalid(result.target, result.error), c.var.requestId),
  })
  app.use(async (c, next) => {
    prepare(c, open(c.env))
    await next()
    if (c.res.status >= 400) noteRefusal(c)
  })
  app.use(safeHeaders)
  app.use(limitBody())
  app.post(READINGS, (c) => {
    const { ports, requestId } = c.var
    return takeReadings(c.req.raw, { ports: ports.ingest, clock: ports.nowS, requestId, log: ports.log })
  })
  serveHealth(app)
  serveMe(app)
  serveInvites(app)
  servePasskeys(app)
  serveHangars(app)
  serveRigs(app)
  serveNow(app)
  serveRecord(app)
  serveAlerts(app)
  serveLogbook(app)
  serveSources(app)
  serveSizing(app)
  serveExports(app)
  serveHistory(app)
  describeReadings(app)
  serveDevices(app)
  describeApi(app)
  app.notFound((c) => problemResponse(refuse('not-found'), c.var.requestId))
  app.onError((error, c) => problemResponse(afterError(error, c), c.var.requestId))
  return app
}

function prepare(c: Context<HttpEnv>, ports: HttpPorts): void {
  c.set('ports', ports)
  c.set('nowS', ports.nowS())
  c.set('requestId', crypto.randomUUID())
  c.set('origin', ports.publicOrigin ?? new URL(c.req.url).origin)
  c.set('caller', { kind: 'nobody' })
  c.set('at', null)
}

/** The pattern of the route, never the address: ids and whatever else was typed into it stay out of the log. */
function noteRefusal(c: Context<HttpEnv>): void {
  c.var.ports.log({
    event: 'refused',
    request: c.var.requestId,
    method: c.req.method,
    route: routePath(c, -1),
    status: c.res.status,
  })
}

function limitBody() {
  const limit = bodyLimit({
    maxSize: CALL_BODY_MAX_BYTES,
    onError: (c) => problemResponse(refuse('too-large'), String(c.get('requestId'))),
  })
  return async (c: Context<HttpEnv>, next: () => Promise<void>) =>
    c.req.path === READINGS ? next() : limit(c, next)
}

/** Details go to the log under the request id; the caller learns the kind of failure and no more. */
function afterError(error: Error, c: Context<HttpEnv>): Refusal {
  if (error instanceof HTTPException) {
    if (error.status === 415) return refuse('unsupported-media')
    if (error.status < 500) return refuse('bad-request', { detail: 'The body is not valid JSON.' })
  }
  const isDatabase = /D1_|database|SQLITE/i.test(error.message)
  c.var.ports.log({
    event: 'failed',
    request: c.var.requestId,
    method: c.req.method,
    route: routePath(c, -1),
    error: error.name,
    message: error.message.slice(0, 300),
  })
  return isDatabase
    ? refuse('unavailable', { retryAfterS: retryAfterS(error, c.var.nowS) })
    : refuse('internal')
}
