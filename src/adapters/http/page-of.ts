/** One page of a list that a limit keeps short enough to be read whole. */

type Asked = { readonly after?: string | undefined; readonly limit: number }

/**
 * The page after the item that `after` names (opaque: the place in the list and the item's id). Should that item be gone
 * by now, the list goes on from its place, so nothing that stayed is passed over. A cursor of another kind starts anew.
 */
export function pageOf<T>(all: readonly T[], idOf: (item: T) => string, asked: Asked) {
  const from = startOf(all, idOf, asked.after)
  const items = all.slice(from, from + asked.limit)
  const last = items.at(-1)
  const until = from + items.length
  const next = last === undefined || until >= all.length ? null : `${until - 1}.${idOf(last)}`
  return { items, next }
}

function startOf<T>(all: readonly T[], idOf: (item: T) => string, after: string | undefined): number {
  const [, place, id] = /^(\d{1,6})\.(.+)$/.exec(after ?? '') ?? []
  if (place === undefined || id === undefined) return 0
  const found = all.findIndex((item) => idOf(item) === id)
  return found === -1 ? Number(place) : found + 1
}
