/** Answers the app's calls inside the browser's own request path, so that every state of a screen can be made. */
import type { BrowserContext, Route } from 'playwright-core'
import { alertsAt, cyclesAt, exposureAt, fillAt, logAt, me, nowOf, rigs, stories } from './data.ts'
import {
  devicesAt,
  entryOf,
  invitesAt,
  linkAt,
  membersAt,
  postsAt,
  proposalFor,
  reachOf,
  sessionsAt,
  sizing,
  sourceAt,
} from './people.ts'
import { iso, traceOf } from './trace.ts'

export type Answer = { status?: number; body: unknown }
export type Overrides = Record<string, (request: { url: URL; body: unknown }) => Answer | 'offline' | 'hang'>

const list = (items: unknown[]): Answer => ({ body: { items, next: null } })
const seconds = (text: string | null): number => Date.parse(text ?? '') / 1000

/** `METHOD path` with `*` for one step; the first that fits answers. */
function standard(nowS: number): Overrides {
  return {
    'GET /healthz': () => ({ body: { ok: true, checkedAt: iso(nowS - 120) } }),
    'GET /v1/me': () => ({ body: me }),
    'GET /v1/alerts': () => list(alertsAt(nowS)),
    'GET /v1/hangars/*/rigs': () => list(rigs),
    'GET /v1/rigs/*': ({ url }) => ({ body: rigs.find((rig) => rig.id === step(url, 3)) }),
    'GET /v1/rigs/*/now': ({ url }) => ({ body: nowOf(step(url, 3), nowS) }),
    'GET /v1/rigs/*/trace': ({ url }) => ({
      body: traceOf({
        fromS: seconds(url.searchParams.get('from')),
        toS: seconds(url.searchParams.get('to')),
        points: Number(url.searchParams.get('points')),
        nowS,
        story: stories[step(url, 3)] ?? {},
      }),
    }),
    'GET /v1/rigs/*/cycles': () => list(cyclesAt(nowS)),
    'GET /v1/rigs/*/exposure': () => ({ body: exposureAt(nowS) }),
    'GET /v1/rigs/*/logbook': () => list(logAt(nowS)),
    'GET /v1/rigs/*/alerts': ({ url }) => list(alertsAt(nowS).filter((one) => one.rig === step(url, 3))),
    'GET /v1/rigs/*/fills': () => list([fillAt(nowS)]),
    'GET /v1/rigs/*/reach': ({ url }) => ({ body: reachOf(step(url, 3), nowS) }),
    'POST /v1/rigs/*/logbook': ({ body }) => ({ status: 201, body: { ...entryOf(body), id: 'new' } }),
    'DELETE /v1/rigs/*/logbook/*': () => ({ status: 204, body: null }),
    'GET /v1/push/key': () => ({ body: { key: 'BPxZ' } }),
    'GET /v1/devices': () => list(devicesAt(nowS)),
    'GET /v1/hangars/*/members': () => list(membersAt(nowS)),
    'GET /v1/hangars/*/invites': () => list(invitesAt(nowS)),
    'POST /v1/hangars/*/invites': () => ({ status: 201, body: linkAt(nowS) }),
    'POST /v1/me/links': () => ({ status: 201, body: linkAt(nowS) }),
    'GET /v1/sessions': () => list(sessionsAt(nowS)),
    'GET /v1/tokens': () => list([]),
    'GET /v1/passkeys': () => list([]),
    'GET /v1/hangars/*/sources': () => list([sourceAt(nowS)]),
    'GET /v1/sources/*': () => ({ body: sourceAt(nowS) }),
    'GET /v1/sources/*/posts': () => list(postsAt(nowS)),
    'POST /v1/sources/*/recipe/propose': ({ body }) => ({ body: proposalFor(body, nowS) }),
    'POST /v1/sources/*/keys': () => ({
      status: 201,
      body: { id: 'k2', key: 'bwk_EXAMPLE0000EXAMPLE0000EXAMPLE' },
    }),
    'GET /v1/bead-kinds': () =>
      list([{ name: 'regular-gel', says: 'Plain silica gel', source: 'a published isotherm' }]),
    'POST /v1/sizing': () => ({ body: sizing }),
    'POST /v1/alerts/*/seen': () => ({ body: {} }),
  }
}

function step(url: URL, index: number): string {
  return url.pathname.split('/')[index] ?? ''
}

function fits(pattern: string, method: string, path: string): boolean {
  const [wantedMethod, wantedPath] = pattern.split(' ')
  if (wantedMethod !== method || wantedPath === undefined) return false
  const wanted = wantedPath.split('/')
  const given = path.split('/')
  return wanted.length === given.length && wanted.every((part, i) => part === '*' || part === given[i])
}

/** Calls nobody prepared an answer for; a test that ends with any is not testing what it thinks. */
export type Fake = { missed: string[] }

export async function fakeApi(
  context: BrowserContext,
  nowS: number,
  overrides: Overrides = {},
): Promise<Fake> {
  const fake: Fake = { missed: [] }
  const answers = Object.entries({ ...standard(nowS), ...overrides })
  const answer = async (route: Route): Promise<void> => {
    const request = route.request()
    const url = new URL(request.url())
    const found = answers.findLast(([pattern]) => fits(pattern, request.method(), url.pathname))
    if (!found) {
      fake.missed.push(`${request.method()} ${url.pathname}`)
      return route.fulfill({ status: 404, contentType: 'application/problem+json', body: '{}' })
    }
    const said = found[1]({ url, body: request.postDataJSON() as unknown })
    if (said === 'hang') return undefined
    if (said === 'offline') return route.abort('internetdisconnected')
    const { status = 200, body } = said
    const contentType = status < 400 || status === 503 ? 'application/json' : 'application/problem+json'
    return status === 204
      ? route.fulfill({ status })
      : route.fulfill({ status, contentType, body: JSON.stringify(body) })
  }
  await context.route('**/v1/**', answer)
  await context.route('**/healthz', answer)
  return fake
}
