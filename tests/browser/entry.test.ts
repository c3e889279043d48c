/** What a form sends of an entry: as it was typed, and of one that is corrected only what was changed. */
import { afterAll, beforeAll, expect, test } from 'vitest'
import { bodyOf, shownText } from '../../clients/web/src/screens/logbook/entry.ts'
import { forms, type Form } from '../../clients/web/src/screens/logbook/forms.ts'
import type { LogEntry } from '../../clients/web/src/shapes.ts'
import { temperatureUnit } from '../../clients/web/src/units.ts'
import { ms, toLocalInput, zone } from '../../clients/web/src/when.ts'

beforeAll(() => {
  zone.value = 'Europe/Berlin'
  temperatureUnit.value = 'degF'
})
afterAll(() => {
  temperatureUnit.value = 'degC'
})

function formOf(what: string): Form {
  const form = forms.find((one) => one.what === what)
  if (!form) throw new Error(what)
  return form
}

function entryOf(what: string, at: string, detail: Record<string, string>): LogEntry {
  return { id: 'e', at, what, detail, by: null, madeAt: at }
}

/** As the form shows the entry. */
function typed(form: Form, entry: LogEntry) {
  const given = Object.fromEntries(
    form.asks.map((ask) => {
      const text = entry.detail[ask.name] ?? ''
      return [ask.name, text === '' ? '' : shownText(ask, text)]
    }),
  )
  return { form, at: toLocalInput(ms(entry.at)), given, startMs: ms(entry.at) }
}

test('an entry saved unchanged stays as it was: to the second, to the digit, in its hour of the two', () => {
  const bake = { tempC: '112.35', hours: '4', jar: 'blue', oven: 'the small one' }
  for (const entry of [
    entryOf('bake', '2026-10-25T00:30:17Z', bake),
    entryOf('bake', '2026-10-25T01:30:17Z', { ...bake, tempC: '112,35' }),
    entryOf('salt-check', '2026-10-24T18:00:05Z', { salt: 'LiCl', until: '2026-10-25T01:10:30Z' }),
  ]) {
    const form = formOf(entry.what)
    expect(bodyOf(typed(form, entry), entry)).toEqual({
      at: entry.at,
      what: entry.what,
      detail: entry.detail,
    })
  }
})

test('what is changed is sent, what is cleared is left out, and names without a field stay', () => {
  const entry = entryOf('bake', '2026-06-01T10:00:17Z', { tempC: '120', jar: 'blue', oven: 'small' })
  const form = formOf('bake')
  const given = { ...typed(form, entry).given, tempC: '230', jar: '' }
  expect(bodyOf({ form, at: '2026-06-01T12:05', given, startMs: ms(entry.at) }, entry)).toEqual({
    at: '2026-06-01T10:05:00Z',
    what: 'bake',
    detail: { tempC: '110.0', oven: 'small' },
  })
})

test('a new entry is what was typed', () => {
  const form = formOf('flight')
  const given = { hours: '1,2' }
  const sent = { what: 'flight', detail: { hours: '1.2' } }
  const startMs = ms('2026-10-25T01:30:20Z')
  expect(bodyOf({ form, at: '2026-06-01T12:05', given, startMs })).toEqual({
    ...sent,
    at: '2026-06-01T10:05:00Z',
  })
  // Left alone, the time is the one at which the form was opened: here the second 02:30 of the night.
  expect(bodyOf({ form, at: '2026-10-25T02:30', given, startMs })).toEqual({
    ...sent,
    at: '2026-10-25T01:30:20Z',
  })
})
