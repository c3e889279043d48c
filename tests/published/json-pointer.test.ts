/** RFC 6901 section 5: the table of the document's own example, and what its grammar and array rules refuse. */
import { expect, test } from 'vitest'
import { parsePointer, resolvePointer } from '../../src/core/ingest/json-pointer.ts'

const DOCUMENT: unknown = JSON.parse(
  String.raw`{"foo":["bar","baz"],"":0,"a/b":1,"c%d":2,"e^f":3,"g|h":4,"i\\j":5,"k\"l":6," ":7,"m~n":8}`,
)

test.each([
  ['', DOCUMENT],
  ['/foo', ['bar', 'baz']],
  ['/foo/0', 'bar'],
  ['/', 0],
  ['/a~1b', 1],
  ['/c%d', 2],
  ['/e^f', 3],
  ['/g|h', 4],
  [String.raw`/i\j`, 5],
  ['/k"l', 6],
  ['/ ', 7],
  ['/m~0n', 8],
])('%j', (pointer, value) => {
  expect(resolvePointer(DOCUMENT, parsePointer(pointer) ?? ['no pointer'])).toEqual(value)
})

test.each(['/foo/01', '/foo/2', '/foo/-', '/foo/0/0', '/bar'])('%s leads nowhere', (pointer) => {
  expect(resolvePointer(DOCUMENT, parsePointer(pointer) ?? [])).toBeUndefined()
})

test.each(['foo', '/a~2b', '/a~'])('%s is no pointer', (text) => {
  expect(parsePointer(text)).toBeNull()
})

test('~1 is unescaped before ~0 (section 4)', () => {
  expect(parsePointer('/~01')).toEqual(['~1'])
})

test('inherited properties are never reached', () => {
  for (const pointer of ['/constructor', '/__proto__', '/foo/length', '/toString/name'])
    expect(resolvePointer(DOCUMENT, parsePointer(pointer) ?? [])).toBeUndefined()
})
