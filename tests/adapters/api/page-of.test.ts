import { describe, expect, test } from 'vitest'
import { pageOf } from '../../../src/adapters/http/page-of.ts'

const all = ['a', 'b', 'c', 'd', 'e'].map((id) => ({ id }))
const idOf = ({ id }: { id: string }): string => id

function walk(list: typeof all, limit: number): string[][] {
  const pages: string[][] = []
  let after: string | undefined
  do {
    const { items, next } = pageOf(list, idOf, { after, limit })
    pages.push(items.map(idOf))
    after = next ?? undefined
  } while (after !== undefined)
  return pages
}

describe('pages of a short list', () => {
  test('cover it once, in order, and end', () => {
    expect(walk(all, 2)).toEqual([['a', 'b'], ['c', 'd'], ['e']])
    expect(walk(all, 5)).toEqual([['a', 'b', 'c', 'd', 'e']])
    expect(walk([], 5)).toEqual([[]])
  })

  test('pass nothing over when what stood at the cursor, or before it, has gone meanwhile', () => {
    const { next } = pageOf(all, idOf, { limit: 2 })
    const after = next ?? ''
    const left = (gone: string) => all.filter(({ id }) => id !== gone)
    expect(pageOf(left('b'), idOf, { after, limit: 2 }).items.map(idOf)).toEqual(['c', 'd'])
    expect(pageOf(left('a'), idOf, { after, limit: 2 }).items.map(idOf)).toEqual(['c', 'd'])
  })

  test('begin anew for a cursor that is none of theirs', () => {
    expect(pageOf(all, idOf, { after: 'x', limit: 1 }).items).toEqual([{ id: 'a' }])
  })
})
