/** Bodies of every kind, well-formed, odd and broken, with the content types that hubs send and those they do not. */
import * as fc from 'fast-check'
import { expect } from 'vitest'
import { findRecords } from '../../../src/core/ingest/find-records.ts'
import { readRecipe } from '../../../src/core/ingest/recipe.ts'
import { conflictsIn, pumpAdvice, takeIn } from '../../../src/core/ingest/take-in.ts'

const NOW_S = 1_790_000_000
const RIGS = [
  { key: 1, slug: 'kestrel', band: { startPct: 15, stopPct: 6 }, isOff: false },
  { key: 2, slug: 'plover', band: { startPct: 13, stopPct: 5 }, isOff: true },
]

const name = fc.oneof(
  fc.constantFrom('at', 'humidity', 'temperature', 'pump', 'power', 'place', 'rig', 'readings'),
  fc.constantFrom(
    'n',
    'u',
    'v',
    't',
    'bn',
    'bt',
    'bu',
    'bv',
    'vb',
    'vs',
    'bver',
    'x_',
    '__proto__',
    'constructor',
  ),
  fc.string({ maxLength: 8 }),
)
const value = fc.oneof(
  fc.double({ noNaN: true }),
  fc.constantFrom(
    9,
    11.4,
    104,
    106,
    -61,
    1e308,
    -0,
    1_789_999_000,
    1_789_999_000_000,
    '9',
    '9,5',
    'NaN',
    'unavailable',
  ),
  fc.constantFrom(
    '%RH',
    'Cel',
    'K',
    'far',
    '',
    'on',
    'off',
    'return',
    'ambient',
    'kestrel',
    'plover',
    'nobody',
  ),
  fc.constantFrom('2026-09-21T06:00:00Z', '2026-09-21 06:00', '2026-10-25T01:30:00', '9999-99-99T99:99:99Z'),
  fc.boolean(),
  fc.constant(null),
  fc.string({ unit: 'binary', maxLength: 20 }),
)
const record = fc.dictionary(name, fc.oneof({ weight: 6, arbitrary: value }, fc.jsonValue({ maxDepth: 2 })), {
  maxKeys: 8,
})
const json = fc
  .oneof(
    record,
    fc.array(record, { maxLength: 6 }),
    fc.array(record, { maxLength: 4 }).map((readings) => ({ readings })),
    fc.array(record, { maxLength: 4 }).map((data) => ({ data })),
    fc.jsonValue(),
    fc
      .integer({ min: 1, max: 2000 })
      .map((depth) => JSON.parse('['.repeat(depth) + ']'.repeat(depth)) as unknown),
  )
  .map((body) => JSON.stringify(body))
const cell = value.map((one) => String(one))
const csv = fc
  .tuple(fc.array(name, { maxLength: 7 }), fc.array(fc.array(cell, { maxLength: 8 }), { maxLength: 6 }))
  .map(([head, lines]) => [head, ...lines].map((line) => line.join(',')).join('\r\n'))
const form = fc
  .array(fc.tuple(name, cell), { maxLength: 8 })
  .map((pairs) =>
    pairs.map(([key, text]) => `${encodeURIComponent(key)}=${text.replaceAll('&', '%26')}`).join('&'),
  )
const cut = fc.tuple(json, fc.nat({ max: 60 })).map(([text, at]) => text.slice(0, at))

export const body = fc.oneof(json, csv, form, cut, fc.string({ unit: 'binary', maxLength: 200 }))
export const mediaType = fc.constantFrom(
  null,
  'application/json',
  'text/json',
  'text/plain',
  'text/csv',
  'application/senml+json',
  'application/cloudevents+json',
  'application/x-www-form-urlencoded',
  'application/octet-stream',
  'image/png',
  '',
)

const recipes = [
  null,
  { humidity: { from: '/humidity', unit: '%' } },
  {
    each: '/data',
    at: { from: '/at', unit: 's' },
    humidity: { from: '/v', unit: '1' },
    temperature: { from: '/t', unit: 'K' },
  },
  {
    each: '/readings',
    at: { from: '/t' },
    temperature: { from: '', unit: 'degF' },
    pump: { from: '/pump', on: ['on', 1] },
    zone: 'Europe/Lisbon',
  },
  {
    humidity: { from: '/__proto__', unit: '%' },
    place: { from: '/place', match: { a: 'ambient' } },
    rig: { from: '/rig', match: { b: 'plover' } },
  },
].map((given) => {
  const read = given === null ? null : readRecipe(given)
  return read?.ok === true ? read.recipe : null
})

/** Whatever came: no throw, and every record is either taken or set aside with its place and reason. */
export function fuzz(runs: number): void {
  const rigs = fc.constantFrom(RIGS, RIGS.slice(0, 1), [])
  fc.assert(
    fc.property(body, mediaType, fc.constantFrom(...recipes), rigs, (text, type, recipe, served) => {
      const found = findRecords({
        mediaType: type,
        text,
        recipe,
        recipeVersion: 1,
        rigs: served.map(({ slug }) => slug),
        receivedS: NOW_S,
      })
      if ('problem' in found) {
        expect(found.detail).not.toBe('')
        return
      }
      const taken = takeIn(found, { rigs: served, receivedS: NOW_S })
      expect(taken.readings.length + taken.setAside.length).toBe(found.records.length)
      for (const reading of taken.readings) {
        const { humidityCentiPct: humidity, tempCentiC: temp, powerDeciW: power, pumpOn, atS } = reading
        expect([humidity, temp, power, pumpOn].some((one) => one !== null)).toBe(true)
        for (const one of [humidity, temp, power])
          expect(one === null || Number.isSafeInteger(one)).toBe(true)
        expect(humidity === null || (humidity >= 0 && humidity <= 10_000)).toBe(true)
        expect(temp === null || (temp >= -6000 && temp <= 12_000)).toBe(true)
        expect(atS >= 946_684_800 && atS <= NOW_S + 300).toBe(true)
        expect(served.some(({ key }) => key === reading.rigKey)).toBe(true)
      }
      for (const aside of taken.setAside) expect(aside.reason).toMatch(/^[a-z0-9_]+$/)
      expect(conflictsIn(taken.readings, taken.readings.slice(0, 1)).has(0)).toBe(false)
      expect(['run', 'rest', null]).toContain(pumpAdvice(taken.readings, served))
    }),
    { numRuns: runs },
  )
}
