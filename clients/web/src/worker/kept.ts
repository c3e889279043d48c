/** Small things that page and worker share: a worker has no local storage, so they lie in the browser's cache. */
const cacheName = 'beadwatch-kept'

export async function readKept(name: string): Promise<unknown> {
  const found = await (await caches.open(cacheName)).match(`/kept/${name}`)
  return found ? found.json() : null
}

export async function writeKept(name: string, value: unknown): Promise<void> {
  await (await caches.open(cacheName)).put(`/kept/${name}`, new Response(JSON.stringify(value)))
}

export async function dropKept(name: string): Promise<void> {
  await (await caches.open(cacheName)).delete(`/kept/${name}`)
}
