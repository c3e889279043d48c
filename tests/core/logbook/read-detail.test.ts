import { describe, expect, test } from 'vitest'
import { enteredNumber } from '../../../src/core/logbook/entered-number.ts'
import { LOG_FIELDS, LOG_KINDS } from '../../../src/core/logbook/kinds.ts'
import { readDetail } from '../../../src/core/logbook/read-detail.ts'

describe('the detail of a logbook entry', () => {
  test('is kept as text, empty values left out, unknown names kept', () => {
    expect(readDetail('bake', { tempC: 120, hours: '4,5', jar: ' blue ', afterG: '', oven: 'shed' })).toEqual(
      {
        ok: true,
        detail: { tempC: '120', hours: '4,5', jar: 'blue', oven: 'shed' },
      },
    )
  })

  test.each([
    ['bake', { tempC: 1200 }, '/detail/tempC', 'a number from 40 to 350'],
    ['bake', { tempC: 'hot' }, '/detail/tempC', 'a number from 40 to 350'],
    ['flight', { hours: '0x10' }, '/detail/hours', 'a number from 0 to 24'],
    ['flight', { hours: '1 2' }, '/detail/hours', 'a number from 0 to 24'],
    ['flight', { hours: 'Infinity' }, '/detail/hours', 'a number from 0 to 24'],
    ['flight', { hours: true }, '/detail/hours', 'a number from 0 to 24'],
    ['flight', { hours: -1 }, '/detail/hours', 'a number from 0 to 24'],
    ['salt-check', { salt: 'NaOH' }, '/detail/salt', 'one of LiCl, MgCl2, NaCl'],
    ['away', { until: 'next week' }, '/detail/until', 'a time such as 2026-03-01T06:00:00Z'],
    ['away', { until: '2026-03-01T06:00:00' }, '/detail/until', 'a time such as 2026-03-01T06:00:00Z'],
    ['note', { text: 'x'.repeat(2001) }, '/detail/text', 'at most 2000 characters'],
    ['off', { 'a/b': 'x'.repeat(2001) }, '/detail/a~1b', 'at most 2000 characters'],
  ] as const)('%s %o is refused at %s', (what, given, pointer, detail) => {
    expect(readDetail(what, given)).toMatchObject({ ok: false, problems: [{ pointer, detail }] })
  })

  test('a number out of its range comes with the range', () => {
    expect(readDetail('bake', { tempC: 1200 })).toMatchObject({
      problems: [{ range: { min: 40, max: 350 } }],
    })
  })

  test.each(['toString', 'constructor', 'hasOwnProperty', '__proto__'])(
    'keeps the name %s like any other',
    (name) => {
      const read = readDetail('note', JSON.parse(`{"${name}": "hello", "text": "x"}`))
      expect(read.ok && Object.entries(read.detail)).toEqual([
        [name, 'hello'],
        ['text', 'x'],
      ])
    },
  )

  test.each([
    ['4,5', 4.5],
    [' .5 ', 0.5],
    ['1e2', 100],
    ['0x10', null],
    ['', null],
  ])('%s as a number is %s', (text, value) => {
    expect(enteredNumber(text)).toBe(value)
  })

  test('has a rule for every kind', () => {
    expect(Object.keys(LOG_FIELDS).sort((a, b) => a.localeCompare(b))).toEqual(
      [...LOG_KINDS].sort((a, b) => a.localeCompare(b)),
    )
  })
})
