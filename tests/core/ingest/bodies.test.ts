/** Every kind of body, with the content type that it has, that it lacks, or that it wrongly has. */
import { describe, expect, test } from 'vitest'
import { findRecords } from '../../../src/core/ingest/find-records.ts'
import type { Recipe } from '../../../src/core/ingest/recipe.ts'
import { readRecipe } from '../../../src/core/ingest/recipe.ts'
import { takeIn } from '../../../src/core/ingest/take-in.ts'

const NOW_S = 1_790_000_100
const RIGS = [
  { key: 1, slug: 'kestrel' },
  { key: 2, slug: 'plover' },
]

function recipeOf(value: unknown): Recipe {
  const result = readRecipe(value)
  if (!result.ok) throw new Error(JSON.stringify(result.problems))
  return result.recipe
}

function read(text: string, mediaType: string | null, use: { recipe?: unknown; rigs?: typeof RIGS } = {}) {
  const rigs = use.rigs ?? RIGS.slice(0, 1)
  const found = findRecords({
    mediaType,
    text,
    recipe: use.recipe === undefined ? null : recipeOf(use.recipe),
    recipeVersion: 3,
    rigs: rigs.map((rig) => rig.slug),
    receivedS: NOW_S,
  })
  if ('problem' in found) return { problem: found.problem, detail: found.detail }
  return { readAs: found.readAs, ...takeIn(found, { rigs, receivedS: NOW_S }) }
}

describe('content types', () => {
  const json = '{"at": 1790000000, "humidity": 9.5}'
  test.each([
    ['application/json', 'native JSON'],
    ['application/vnd.hub+json', 'native JSON'],
    ['text/plain', 'native JSON, though it says plain text'],
    [null, 'native JSON, though it has no content type'],
    ['application/x-www-form-urlencoded', 'native JSON, though its content type says form'],
  ])('JSON as %s', (mediaType, readAs) => {
    expect(read(json, mediaType)).toMatchObject({ readAs, readings: [{ humidityCentiPct: 950 }] })
  })
  test('CSV and forms are known without their type', () => {
    expect(read('at,humidity\n1790000000,9.5', null)).toMatchObject({
      readAs: 'CSV, though it has no content type',
    })
    expect(read('humidity=9.5&pump=on', 'text/plain')).toMatchObject({
      readAs: 'form, though it says plain text',
    })
    expect(read('[{"n":"hub/rh","u":"%RH","v":9}]', 'application/json')).toMatchObject({ readAs: 'SenML' })
  })
  test('others are refused', () => {
    expect(read(json, 'text/html')).toMatchObject({ problem: 'unsupported_type' })
    expect(read('hello', null)).toMatchObject({ problem: 'not_parseable' })
  })
})

describe('flat bodies', () => {
  test('CSV: columns in any order, quoted, empty is missing, a short line is set aside', () => {
    const text =
      'place,pump,at,"humidity",extra\r\nambient,,1790000000,55,x\r\n,on,1790000000,"9.5",\r\nreturn,off\r\n'
    expect(read(text, 'text/csv')).toMatchObject({
      readings: [
        { place: 2, pumpOn: null, humidityCentiPct: 5500 },
        { place: 0, pumpOn: 1, humidityCentiPct: 950 },
      ],
      setAside: [{ index: 2, reason: 'not_a_record' }],
    })
  })
  test('CSV by recipe where the header has other names', () => {
    const recipe = { at: { from: '/when', unit: 's' }, humidity: { from: '/rh', unit: '1' } }
    expect(read('when,rh\n1790000000,0.095', 'text/csv', { recipe })).toMatchObject({
      readAs: 'CSV by recipe 3',
      readings: [{ atS: 1_790_000_000, humidityCentiPct: 950 }],
    })
    expect(read('when,rh\n1,2', 'text/csv')).toMatchObject({ problem: 'no_record' })
    expect(read('at,humidity\n', 'text/csv')).toMatchObject({ problem: 'no_record' })
  })
  test('CSV by a recipe that was made for its columns, though they bear native names', () => {
    const timed = { at: { from: '/ts', unit: 's' }, humidity: { from: '/humidity' } }
    expect(read('ts,humidity\n1789990000,11\n1789990300,12', 'text/csv', { recipe: timed })).toMatchObject({
      readAs: 'CSV by recipe 3',
      readings: [
        { atS: 1_789_990_000, humidityCentiPct: 1100 },
        { atS: 1_789_990_300, humidityCentiPct: 1200 },
      ],
      setAside: [],
    })
    const fraction = { at: { from: '/at' }, humidity: { from: '/humidity', unit: '1' }, place: 'ambient' }
    expect(read('at,humidity\n1789990000,0.11', 'text/csv', { recipe: fraction })).toMatchObject({
      readings: [{ place: 2, humidityCentiPct: 1100 }],
    })
    const timeless = { humidity: { from: '/humidity', unit: '1' } }
    expect(read('humidity\n0.11', 'text/csv', { recipe: timeless })).toMatchObject({
      readings: [{ atS: NOW_S, humidityCentiPct: 1100 }],
    })
  })
  test('CSV of our own is read as such by every source', () => {
    const full = 'at,humidity,temperature,pump,power,place,rig\r\n1789990000,11.4,18.2,on,4.1,supply,kestrel'
    const readings = [{ atS: 1_789_990_000, place: 1, humidityCentiPct: 1140, pumpOn: 1 }]
    const recipe = { at: { from: '/at' }, humidity: { from: '/humidity', unit: '1' } }
    expect(read(full, 'text/csv', { recipe })).toMatchObject({ readAs: 'CSV', readings })
    const other = { at: { from: '/ts' }, humidity: { from: '/humidity' } }
    expect(read('at,humidity\n1789990000,9.5', 'text/csv', { recipe: other })).toMatchObject({
      readAs: 'CSV',
      readings: [{ atS: 1_789_990_000, humidityCentiPct: 950 }],
    })
  })
  test('CSV by recipe: a line whose fields are not those of the header is set aside', () => {
    const recipe = { at: { from: '/ts' }, humidity: { from: '/hum' }, temperature: { from: '/tmp' } }
    const text = 'ts,hum,tmp\n1789990000,11,4,18,2\n1789990300,11\n1789990600,12,18'
    expect(read(text, 'text/csv', { recipe })).toMatchObject({
      readings: [{ index: 2, humidityCentiPct: 1200, tempCentiC: 1800 }],
      setAside: [
        { index: 0, reason: 'not_a_record', detail: '5 fields under a header of 3' },
        { index: 1, reason: 'not_a_record', detail: '2 fields under a header of 3' },
      ],
    })
  })
  test('form by native names and by recipe', () => {
    const type = 'application/x-www-form-urlencoded'
    expect(read('at=2026-09-21T13%3A33%3A20Z&humidity=9.5&temperature=&pump=1', type)).toMatchObject({
      readings: [{ atS: Date.parse('2026-09-21T13:33:20Z') / 1000, pumpOn: 1, tempCentiC: null }],
    })
    const recipe = { temperature: { from: '/tempf', unit: 'degF' }, humidity: { from: '/hum' } }
    expect(read('tempf=65.3&hum=9.5&key=***', type, { recipe })).toMatchObject({
      readAs: 'form by recipe 3',
      readings: [{ tempCentiC: 1850, humidityCentiPct: 950 }],
    })
    expect(read('a=%zz', type)).toMatchObject({ problem: 'not_parseable' })
    expect(read('__proto__=1&constructor=2', type)).toMatchObject({ problem: 'no_record' })
  })
})

describe('recipes', () => {
  test('the example: pointers, units, matches', () => {
    const recipe = {
      each: '/data',
      at: { from: '/ts', unit: 's' },
      humidity: { from: '/hum', unit: '%' },
      temperature: { from: '/tmp', unit: 'degF' },
      pump: { from: '/sw', on: ['on', 1, true] },
      power: { from: '/w', unit: 'mW' },
      rig: { from: '/dev', match: { a1: 'kestrel', b2: 'plover' } },
      place: 'return',
      clockOffsetS: -3600,
    }
    const data = [
      { ts: 1_790_003_000, hum: '9.5', tmp: 65.3, sw: 'on', w: 4100, dev: 'a1' },
      { ts: 1_790_003_000, hum: 12, tmp: 50, sw: 'off', dev: 'b2' },
      { ts: 1_790_003_000, hum: 12, dev: 'c3' },
      { ts: 1_790_003_000, hum: 'unavailable', dev: 'a1' },
      7,
    ]
    expect(read(JSON.stringify({ data }), 'application/json', { recipe, rigs: RIGS })).toMatchObject({
      readAs: 'JSON by recipe 3',
      readings: [
        { rigKey: 1, atS: 1_789_999_400, humidityCentiPct: 950, tempCentiC: 1850, pumpOn: 1, powerDeciW: 41 },
        { rigKey: 2, humidityCentiPct: 1200, tempCentiC: 1000, pumpOn: 0, powerDeciW: null },
      ],
      setAside: [
        { index: 2, pointer: '/dev', reason: 'unknown_rig' },
        { index: 3, pointer: '/hum', reason: 'unavailable' },
        { index: 4, pointer: '', reason: 'not_a_record' },
      ],
    })
  })
  describe("the pump's words mean the same in every kind of body", () => {
    const recipe = { humidity: { from: '/hum' }, pump: { from: '/sw', on: ['on', 1, true] } }
    const form = 'application/x-www-form-urlencoded'
    test.each([
      ['sw=1', form, 1],
      ['sw=1.0', form, 1],
      ['sw=ON', form, 1],
      ['sw=True', form, 1],
      ['sw=0', form, 0],
      ['sw=stopped', form, 0],
      ['hum,sw\n9, 1 ', 'text/csv', 1],
      ['hum,sw\n9,0', 'text/csv', 0],
      ['{"sw":"1"}', 'application/json', 1],
      ['{"sw":"ON"}', 'application/json', 1],
      ['{"sw":1}', 'application/json', 1],
      ['{"sw":true}', 'application/json', 1],
      ['{"sw":"off"}', 'application/json', 0],
    ])('%s as %s', (text, mediaType, pumpOn) => {
      expect(read(text, mediaType, { recipe })).toMatchObject({ readings: [{ pumpOn }], setAside: [] })
    })
    test.each([
      ['{"sw":{"state":"on"}}', 'pump_unreadable'],
      ['{"sw":["on"]}', 'pump_unreadable'],
      ['{"sw":""}', 'pump_unreadable'],
      ['{"sw":"unavailable"}', 'unavailable'],
    ])('%s is neither: set aside', (text, reason) => {
      expect(read(text, 'application/json', { recipe })).toMatchObject({
        readings: [],
        setAside: [{ pointer: '/sw', reason }],
      })
    })
    test('where off is named too, nothing else is off', () => {
      const both = { pump: { from: '/sw', on: [1], off: [0] } }
      expect(read('sw=0', form, { recipe: both })).toMatchObject({ readings: [{ pumpOn: 0 }] })
      expect(read('sw=2', form, { recipe: both })).toMatchObject({
        setAside: [{ reason: 'pump_unreadable' }],
      })
    })
  })
  test('an event envelope (CloudEvents 1.0, structured mode) needs no code of its own', () => {
    const event = {
      specversion: '1.0',
      type: 'reading',
      source: '/hangar/3',
      id: 'A-1',
      time: '2026-09-21T13:33:20Z',
      datacontenttype: 'application/json',
      data: { rh: 0.095, t: 291.15 },
    }
    const recipe = {
      at: { from: '/time', unit: 'rfc3339' },
      humidity: { from: '/data/rh', unit: '1' },
      temperature: { from: '/data/t', unit: 'K' },
    }
    const readings = [{ atS: Date.parse(event.time) / 1000, humidityCentiPct: 950, tempCentiC: 1800 }]
    expect(read(JSON.stringify(event), 'application/cloudevents+json', { recipe })).toMatchObject({
      readings,
    })
    expect(read(JSON.stringify([event]), 'application/cloudevents-batch+json', { recipe })).toMatchObject({
      readings,
    })
  })
  test('a record may be a list: its values stand under their numbers', () => {
    const recipe = {
      each: '/rows',
      at: { from: '/0', unit: 's' },
      humidity: { from: '/1' },
      pump: { from: '/2/state', on: ['on'] },
    }
    const rows = [[1_790_000_000, 9.5, { state: 'on' }], [1_790_000_060, '9.4', { state: 'off' }], [], 7]
    expect(read(JSON.stringify({ rows }), 'application/json', { recipe })).toMatchObject({
      readings: [
        { index: 0, atS: 1_790_000_000, humidityCentiPct: 950, pumpOn: 1 },
        { index: 1, atS: 1_790_000_060, humidityCentiPct: 940, pumpOn: 0 },
      ],
      setAside: [
        { index: 2, reason: 'no_value' },
        { index: 3, reason: 'not_a_record' },
      ],
    })
  })
  test('time and rig may stand once, outside of the records', () => {
    const recipe = {
      each: '/list',
      at: { from: '/ts', unit: 'ms' },
      humidity: { from: '/h' },
      place: { from: '/p', match: { in: 'return', out: 'ambient' } },
    }
    const body = {
      ts: 1_790_000_000_123,
      list: [
        { h: 9, p: 'in' },
        { h: 60, p: 'out' },
        { h: 1, p: 'x' },
      ],
    }
    expect(read(JSON.stringify(body), 'application/json', { recipe })).toMatchObject({
      readings: [
        { atS: 1_790_000_000, place: 0 },
        { atS: 1_790_000_000, place: 2 },
      ],
      setAside: [{ index: 2, pointer: '/p', reason: 'unknown_place' }],
    })
  })
  test('finding nothing is said with the pointers that were tried', () => {
    const recipe = { each: '/data', humidity: { from: '/hum' } }
    expect(read('{"data": []}', 'application/json', { recipe })).toMatchObject({ problem: 'no_record' })
    expect(read('{"humidity": 9}', 'application/json', { recipe })).toMatchObject({ problem: 'no_record' })
    expect(read('{"data": {"rh": 9}}', 'application/json', { recipe })).toMatchObject({
      detail: expect.stringContaining('/hum'),
    })
  })
  test.each([
    [[], ['']],
    [{}, ['']],
    [{ humidity: '/hum' }, ['/humidity', '']],
    [{ humidity: { from: 'hum' } }, ['/humidity/from', '']],
    [{ humidity: { from: '/h', unit: 'percent' } }, ['/humidity/unit']],
    [{ humidity: { from: '/h', scale: 2 } }, ['/humidity/scale']],
    [{ humidity: { from: '/h' }, at: { from: '/t', unit: 'min' } }, ['/at/unit']],
    [{ humidity: { from: '/h' }, zone: 'Mars/Base' }, ['/zone']],
    [{ humidity: { from: '/h' }, place: 'cowling' }, ['/place']],
    [{ humidity: { from: '/h' }, place: { from: '/p', match: { a: 'cowling' } } }, ['/place/match']],
    [{ humidity: { from: '/h' }, rig: { from: '/p', match: {} } }, ['/rig/match']],
    [{ humidity: { from: '/h' }, clockOffsetS: 0.5 }, ['/clockOffsetS']],
    [{ humidity: { from: '/h' }, pump: { from: '/p', off: [0] } }, ['/pump/on']],
    [{ humidity: { from: '/h' }, pump: { from: '/p', on: [{ a: 1 }] } }, ['/pump/on']],
    [{ humidity: { from: '/h' }, foo: 1 }, ['/foo']],
  ])('%j is refused with the place', (recipe, pointers) => {
    const result = readRecipe(recipe)
    expect(result.ok ? [] : result.problems.map((problem) => problem.pointer)).toEqual(pointers)
  })
})

describe('local times (zone rules: IANA, through Intl)', () => {
  const recipe = { at: { from: '/t' }, humidity: { from: '/h' }, zone: 'Europe/Lisbon' }
  const times = (list: readonly string[]): unknown => {
    const result = read(JSON.stringify(list.map((t, index) => ({ t, h: index + 1 }))), 'application/json', {
      recipe,
    })
    return 'readings' in result
      ? result.readings.map((reading) => new Date(reading.atS * 1000).toISOString().slice(0, 16))
      : result
  }
  test('summer and winter', () => {
    expect(times(['2026-07-01T12:00:00', '2026-01-15 12:00'])).toEqual([
      '2026-07-01T11:00',
      '2026-01-15T12:00',
    ])
  })
  test('the repeated hour of autumn by order of arrival', () => {
    // Clocks go back on 26 October 2025 at 02:00 summer time, 01:00 UTC.
    const list = ['00:50', '01:10', '01:40', '01:05', '01:55', '02:00'].map((time) => `2025-10-26T${time}:00`)
    expect(times(list)).toEqual([
      '2025-10-25T23:50',
      '2025-10-26T00:10',
      '2025-10-26T00:40',
      '2025-10-26T01:05',
      '2025-10-26T01:55',
      '2025-10-26T02:00',
    ])
  })
  test('the repeated hour is told for each sensor of a post by its own order', () => {
    const sensors = { ...recipe, place: { from: '/p' } }
    const list = ['01:30', '01:40'].flatMap((time) => [`2025-10-26T${time}:00`])
    const body = ['return', 'ambient'].flatMap((p) => list.map((t) => ({ t, p, h: 9 })))
    expect(read(JSON.stringify(body), 'application/json', { recipe: sensors })).toMatchObject({
      readings: ['00:30', '00:40', '00:30', '00:40'].map((time) => ({
        atS: Date.parse(`2025-10-26T${time}:00Z`) / 1000,
      })),
    })
  })
  test('the hour that spring leaves out, and a time with its own zone', () => {
    expect(times(['2026-03-29T01:30:00', '2026-03-29T01:30:00Z'])).toEqual([
      '2026-03-29T01:30',
      '2026-03-29T01:30',
    ])
  })
})
