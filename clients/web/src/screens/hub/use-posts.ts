/** The posts of a hub, followed while its page is open: the newest few often, the whole list once in a while. */
import { useEffect, useState } from 'preact/hooks'
import { api } from '../../api.ts'
import { refresh, useRead, type Reading } from '../../query.ts'
import type { Page, Post } from '../../shapes.ts'

/** Often enough to feel live beside a hub that is being set up; good posts are kept only while somebody looks. */
const followS = 4
/** The list may hold a hundred posts of 64 KiB: posts that fall out of it are not missed in the meantime. */
const wholeS = 300

export function usePosts(source: string): Reading<Page<Post>> {
  const whole = useRead(api.posts(source), wholeS)
  const newest = useRead(api.newestPosts(source), followS).value
  const [since, setSince] = useState<Post[]>([])
  useEffect(() => setSince([]), [whole.value])
  useEffect(() => {
    if (!newest || !whole.value) return
    const known = new Set([...since, ...whole.value.items].map(({ id }) => id))
    const isBehind = newest.next !== null && newest.items.every(({ id }) => !known.has(id))
    if (isBehind) void refresh(api.posts(source).path)
    else setSince((before) => joined(newest.items, before))
  }, [newest])
  if (!whole.value) return whole
  return { ...whole, value: { items: joined(since, whole.value.items), next: null } }
}

/** After something was done to a post. */
export async function refreshPosts(source: string): Promise<void> {
  await Promise.all([refresh(api.posts(source).path), refresh(api.newestPosts(source).path)])
}

/** Newest first, each once, as it was heard last. */
function joined(newer: readonly Post[], older: readonly Post[]): Post[] {
  const ids = new Set(newer.map(({ id }) => id))
  return [...newer, ...older.filter(({ id }) => !ids.has(id))]
}
