/**
 * The last good answers, kept on this device so that the hangar door without a signal still shows something. Only
 * answers to reads are kept, and all are dropped at sign-out.
 */
const cacheName = 'beadwatch-last-state'
const heardHeader = 'x-heard-at-ms'
/** Traces of odd windows would pile up: past this many answers the oldest go. */
const keptMax = 120

export type Kept<T> = { value: T; heardAtMs: number }

export async function keepAnswer(path: string, value: unknown, heardAtMs: number): Promise<void> {
  if (!('caches' in globalThis)) return
  try {
    const cache = await caches.open(cacheName)
    const headers = { 'content-type': 'application/json', [heardHeader]: String(heardAtMs) }
    await cache.put(path, new Response(JSON.stringify(value), { headers }))
    const keys = await cache.keys()
    if (keys.length > keptMax) {
      await Promise.all(keys.slice(0, keys.length - keptMax).map((key) => cache.delete(key)))
    }
  } catch {
    // A full or forbidden store costs the offline view only.
  }
}

export async function keptAnswer<T>(path: string): Promise<Kept<T> | null> {
  if (!('caches' in globalThis)) return null
  try {
    const found = await (await caches.open(cacheName)).match(path)
    if (!found) return null
    // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- only `keepAnswer` writes here
    return { value: (await found.json()) as T, heardAtMs: Number(found.headers.get(heardHeader)) }
  } catch {
    return null
  }
}

export async function forgetAnswers(): Promise<void> {
  if ('caches' in globalThis) await caches.delete(cacheName)
}
