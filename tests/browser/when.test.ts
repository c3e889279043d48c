import { expect, test } from 'vitest'
import { day, fromLocalInput, zone } from '../../clients/web/src/when.ts'

zone.value = 'Europe/Lisbon'
const nowMs = Date.parse('2026-11-27T23:00:00Z')

test.each([
  ['2026-11-27T10:00:00Z', 'today'],
  ['2026-11-28T10:00:00Z', 'tomorrow'],
  ['2026-06-02T10:00:00Z', 'Tue 2 Jun'],
  ['2027-06-01T10:00:00Z', '1 Jun 2027'],
  ['2026-02-03T10:00:00Z', 'Tue 3 Feb'],
  ['2025-12-24T10:00:00Z', '24 Dec 2025'],
])('the day of %s is said as %s', (at, said) => {
  expect(day(Date.parse(at), nowMs)).toBe(said)
})

test('last December is told from this one in January', () => {
  expect(day(Date.parse('2026-12-20T10:00:00Z'), Date.parse('2027-01-04T10:00:00Z'))).toBe('20 Dec 2026')
})

test.each(['', '2026-11-27', '2026-11-27T', '2026-13-45T99:99', 'soon'])('%j is no time', (text) => {
  expect(fromLocalInput(text)).toBeNull()
})

test('a time of the field is one in the person’s own zone', () => {
  expect(fromLocalInput('2026-07-01T12:30')).toBe(Date.parse('2026-07-01T11:30:00Z'))
})

// Clocks go back at 01:00 UTC: 01:30 in Lisbon, 02:30 in Berlin and (at 15:00 UTC the day before, by half an hour) 01:45
// on Lord Howe Island are there twice.
test.each([
  ['Europe/Lisbon', '2026-10-25T01:30', '2026-10-25T00:30:00Z'],
  ['Europe/Berlin', '2026-10-25T02:30', '2026-10-25T00:30:00Z'],
  ['America/New_York', '2026-11-01T01:30', '2026-11-01T05:30:00Z'],
  ['Australia/Lord_Howe', '2026-04-05T01:45', '2026-04-04T14:45:00Z'],
  ['Europe/Berlin', '2026-10-25T03:30', '2026-10-25T02:30:00Z'],
  ['Europe/Berlin', '2026-10-25T01:30', '2026-10-24T23:30:00Z'],
])('of the hour that comes twice the first is meant, in %s', (name, text, at) => {
  zone.value = name
  expect(new Date(fromLocalInput(text) ?? 0).toISOString()).toBe(new Date(at).toISOString())
  zone.value = 'Europe/Lisbon'
})
