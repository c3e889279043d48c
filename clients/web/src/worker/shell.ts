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

/**
 * Shells of former versions go, all but the last one: a page that was open while a new version came still asks for parts
 * under their old names, which the server no longer has. What the page keeps itself stays.
 */
export async function dropOldShells(): Promise<void> {
  const names = await caches.keys()
  const former = names.filter((name) => name.startsWith('beadwatch-shell-') && name !== cacheName)
  await Promise.all(former.slice(0, -1).map((name) => caches.delete(name)))
}

/**
 * The answer for a request of this origin, or `null`: not ours to answer. Calls of the API are never answered
 * from here: the page itself keeps the last state and says how old it is.
 */
export function answerFor(request: Request): Promise<Response> | null {
  const url = new URL(request.url)
  if (request.method !== 'GET' || url.origin !== scope.location.origin) return null
  if (request.mode === 'navigate') return isApi(url.pathname) ? null : pageOrShell(request)
  const isPart = SHELL_FILES.includes(url.pathname) || url.pathname.startsWith('/assets/')
  return isPart ? keptOrFetched(request) : null
}

function isApi(path: string): boolean {
  return path.startsWith('/v1/') || path === '/healthz' || path === '/openapi.json'
}

async function keptPage(): Promise<Response> {
  // Of this version: a former shell may still be there.
  return (await (await caches.open(cacheName)).match(page)) ?? Response.error()
}

async function pageOrShell(request: Request): Promise<Response> {
  try {
    const fresh = await fetch(request, { signal: AbortSignal.timeout(pageMaxMs) })
    return fresh.status >= 500 ? await keptPage() : fresh
  } catch {
    return keptPage()
  }
}

/** From this version's files, else a former one's: most names carry a hash, and what is kept under one is right for ever. */
async function keptOrFetched(request: Request): Promise<Response> {
  const options = { ignoreVary: true }
  const own = await (await caches.open(cacheName)).match(request, options)
  return own ?? (await caches.match(request, options)) ?? fetch(request)
}
