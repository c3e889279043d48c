import { describe, expect, test } from 'vitest'
import { isZone, localMinute, quietUntilS } from '../../../src/core/messages/quiet-hours.ts'

const at = (text: string) => Date.parse(text) / 1000
const night = { fromMin: 22 * 60, toMin: 7 * 60, zone: 'Europe/Lisbon' }

describe('from 22:00 to 07:00 in Lisbon', () => {
  test.each([
    ['just before', '2026-07-01T20:59:59Z', null],
    ['from the first minute (summer time is UTC+1)', '2026-07-01T21:00:00Z', '2026-07-02T06:00:00Z'],
    ['after midnight', '2026-07-02T03:12:34Z', '2026-07-02T06:00:00Z'],
    ['at the end', '2026-07-02T06:00:00Z', null],
    ['in winter (UTC+0)', '2026-12-01T23:30:00Z', '2026-12-02T07:00:00Z'],
    ['the night with 23 hours', '2026-03-28T23:00:00Z', '2026-03-29T06:00:00Z'],
    ['the night with 25 hours', '2026-10-24T22:00:00Z', '2026-10-25T07:00:00Z'],
  ])('%s', (_, now, until) => {
    expect(quietUntilS(at(now), night)).toBe(until === null ? null : at(until))
  })
})

test('hours within one day', () => {
  const noon = { fromMin: 12 * 60, toMin: 14 * 60, zone: 'America/Denver' }
  expect(quietUntilS(at('2026-01-10T19:30:00Z'), noon)).toBe(at('2026-01-10T21:00:00Z'))
  expect(quietUntilS(at('2026-01-10T21:00:00Z'), noon)).toBeNull()
})

test('an end that the clock skips ends with the skip', () => {
  // Lisbon goes from 00:59 straight to 02:00 on 2026-03-29.
  const quiet = { fromMin: 22 * 60, toMin: 90, zone: 'Europe/Lisbon' }
  expect(quietUntilS(at('2026-03-28T23:30:00Z'), quiet)).toBe(at('2026-03-29T01:00:00Z'))
})

test.each(['Europe/Lisbon', 'America/New_York', 'Australia/Lord_Howe', 'Antarctica/Troll'])(
  'minute by minute the same in %s, in every night of a change',
  (zone) => {
    const quiet = { fromMin: 22 * 60, toMin: 150, zone }
    const isQuiet = (atS: number) => {
      const minute = localMinute(atS, zone)
      return minute >= quiet.fromMin || minute < quiet.toMin
    }
    for (const day of ['2026-03-07', '2026-03-28', '2026-04-04', '2026-10-03', '2026-10-24', '2026-10-31'])
      for (let atS = at(`${day}T10:00:00Z`); atS < at(`${day}T10:00:00Z`) + 2 * 86_400; atS += 47 * 60) {
        let endS = atS
        while (isQuiet(endS)) endS += 60
        expect([day, atS, quietUntilS(atS, quiet)]).toEqual([day, atS, endS === atS ? null : endS])
      }
  },
)

test('equal limits mean none', () => {
  expect(quietUntilS(0, { fromMin: 60, toMin: 60, zone: 'UTC' })).toBeNull()
})

test('a zone is known by name only', () => {
  expect(isZone('Europe/Lisbon')).toBe(true)
  expect(isZone('Middle/Nowhere')).toBe(false)
  expect(isZone('')).toBe(false)
})
