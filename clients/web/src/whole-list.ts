/**
 * Lists that a screen needs whole. The server gives a page at a time; a list asked for by `wholeList` is read to its end
 * before anything of it is shown, so that a count, a printed record or a choice never leaves out what lay on page two.
 */
import type { Call } from './api.ts'
import { request, type Answer } from './request.ts'
import type { Page } from './shapes.ts'

/** The largest page the server gives. */
const pageMax = 200
/** Far beyond a rig's logbook of many years; an endless list is cut here rather than asked for for ever. */
const pagesMax = 25
const mark = `?limit=${pageMax}`

/** A call that `requestWhole` reads to the end of the list. */
export function wholeList<T>(path: string): Call<Page<T>> {
  return { method: 'GET', path: `${path}${mark}` }
}

/** Asks once; for a whole list, until there is no next page. A page that fails fails the whole. */
export async function requestWhole(path: string): Promise<Answer<unknown>> {
  if (!path.endsWith(mark)) return request<unknown>({ method: 'GET', path })
  const items: unknown[] = []
  let next: string | null = null
  for (let pages = 0; pages < pagesMax; pages++) {
    const after: string = next === null ? '' : `&after=${encodeURIComponent(next)}`
    const answer: Answer<Page<unknown>> = await request<Page<unknown>>({
      method: 'GET',
      path: `${path}${after}`,
    })
    if (!answer.ok) return answer
    items.push(...answer.value.items)
    next = answer.value.next
    if (next === null) break
  }
  return { ok: true, value: { items, next } }
}
