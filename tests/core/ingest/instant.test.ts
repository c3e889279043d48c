/** The quick way for the usual form of a time says exactly what the patterns say. */
import * as fc from 'fast-check'
import { expect, test } from 'vitest'
import { readInstant, readTimestamp } from '../../../src/core/ingest/instant.ts'

const usual = fc
  .tuple(fc.integer({ min: 0, max: 253_402_300_799 }), fc.constantFrom('', '.000', '.999'))
  .map(([atS, fraction]) => new Date(atS * 1000).toISOString().replace('.000Z', `${fraction}Z`))

test('the usual form is read as the platform reads it, fractions cut', () => {
  fc.assert(
    fc.property(usual, (text) => {
      expect(readInstant(text)).toEqual({ kind: 'instant', atS: Math.floor(Date.parse(text) / 1000) })
    }),
    { seed: 1 },
  )
})

test('with any character changed it is read, or refused, as by the patterns', () => {
  fc.assert(
    fc.property(
      usual,
      fc.nat(),
      fc.constantFrom(...'0123456789-:.TZtz +x'.split('')),
      (text, where, char) => {
        const at = where % text.length
        const changed = text.slice(0, at) + char + text.slice(at + 1)
        expect(readInstant(changed)).toEqual(readTimestamp(changed.trim()))
      },
    ),
    { seed: 2, numRuns: 2000 },
  )
})

test.each(['2026-02-30T06:00:00Z', '2026-13-01T06:00:00Z', '2026-03-01T24:00:01Z', '2026-03-01T06:60:00Z'])(
  '%s does not exist',
  (text) => expect(readInstant(text).kind).toBe('unreadable'),
)
