/** RFC 4180 section 2, its seven rules, on their own examples (rule numbers beside). */
import { expect, test } from 'vitest'
import { parseCsv } from '../../src/core/ingest/csv.ts'

test.each([
  [
    '1: records end with CRLF',
    'aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n',
    [
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ],
  ],
  [
    '2: the last may have no line break',
    'aaa,bbb,ccc\r\nzzz,yyy,xxx',
    [
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ],
  ],
  ['4: spaces are part of a field; no comma after the last', 'a ,b\n', [['a ', 'b']]],
  [
    '5: fields may be quoted',
    '"aaa","bbb","ccc"\r\nzzz,yyy,xxx',
    [
      ['aaa', 'bbb', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ],
  ],
  [
    '6: line breaks and commas in quotes',
    '"aaa","b\r\nb,b","ccc"\r\nzzz,yyy,xxx',
    [
      ['aaa', 'b\r\nb,b', 'ccc'],
      ['zzz', 'yyy', 'xxx'],
    ],
  ],
  ['7: a quote is doubled', '"aaa","b""bb","ccc"', [['aaa', 'b"bb', 'ccc']]],
  [
    'empty fields stay, at the end too',
    '"a",,""\n,"b",',
    [
      ['a', '', ''],
      ['', 'b', ''],
    ],
  ],
  [
    'LF alone, as hubs write it',
    'a,b\nc,d\n',
    [
      ['a', 'b'],
      ['c', 'd'],
    ],
  ],
])('%s', (_, text, rows) => {
  expect(parseCsv(text)).toEqual({ ok: true, rows })
})

test('what is not CSV is refused with its line', () => {
  expect(parseCsv('a,b\n"c,d\n')).toMatchObject({ ok: false, line: 2 })
  expect(parseCsv('"a"b,c')).toMatchObject({ ok: false, line: 1 })
})
