import { scope } from './scope.ts'

/** Filled in by the build: every file of the app, each with a hash in its name. */
declare const SHELL_FILES: readonly string[]
declare const SHELL_VERSION: string

const cacheName = `beadwatch-shell-${SHELL_VERSION}`
/** In a hangar a connection often hangs rather than fails: after this the kept page is shown. */
const pageMaxMs = 3_000
const page = '/'

export async function keepShell(): Promise<void> {
  const cache = await caches.open(cacheName)
  await cache.addAll([page, ...SHELL_FILES].map((path) => new Request(path, { cache: 'reload' })))
}

/** Only the shells of former versions go; what the page keeps itself stays. */
export async function dropOldShells(): Promise<void> {
  const names = await caches.keys()
  const old = names.filter((name) => name.startsWith('beadwatch-shell-') && name !== cacheName)
  await Promise.all(old.map((name) => caches.delete(name)))
}

/**
 * The answer for a request of this origin, or `null`: not ours to answer. Calls of the API are never answered
 * from here: the page itself keeps the last state and says how old it is.
 */
export function answerFor(request: Request): Promise<Response> | null {
  const url = new URL(request.url)
  if (request.method !== 'GET' || url.origin !== scope.location.origin) return null
  if (request.mode === 'navigate') return isApi(url.pathname) ? null : pageOrShell(request)
  return SHELL_FILES.includes(url.pathname) ? keptOrFetched(request) : null
}

function isApi(path: string): boolean {
  return path.startsWith('/v1/') || path === '/healthz' || path === '/openapi.json'
}

async function keptPage(): Promise<Response> {
  return (await caches.match(page)) ?? Response.error()
}

async function pageOrShell(request: Request): Promise<Response> {
  try {
    const fresh = await fetch(request, { signal: AbortSignal.timeout(pageMaxMs) })
    return fresh.status >= 500 ? await keptPage() : fresh
  } catch {
    return keptPage()
  }
}

/** The name carries a hash of what is in it: what is kept is right for ever. */
async function keptOrFetched(request: Request): Promise<Response> {
  return (await caches.match(request, { ignoreVary: true })) ?? fetch(request)
}
