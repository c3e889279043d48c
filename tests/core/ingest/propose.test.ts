/** Recipes proposed from posts as hubs send them: what is found, in which unit, and why that is said. */
import * as fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { findRecords } from '../../../src/core/ingest/find-records.ts'
import { proposeRecipe, type Proposal } from '../../../src/core/ingest/propose.ts'
import { readRecipe } from '../../../src/core/ingest/recipe.ts'
import { takeIn } from '../../../src/core/ingest/take-in.ts'

const NOW_S = 1_790_000_000
const RIGS = ['kestrel', 'plover']

function propose(body: unknown, use: { rigs?: readonly string[]; mediaType?: string } = {}): Proposal {
  return proposeRecipe({
    mediaType: use.mediaType ?? 'application/json',
    text: typeof body === 'string' ? body : JSON.stringify(body),
    rigs: use.rigs ?? ['kestrel'],
    receivedS: NOW_S,
  })
}

function reasonOf(proposal: Proposal, field: string): string {
  const found = proposal.recipe === null ? undefined : proposal.reasons.find((one) => one.field === field)
  return found?.reason ?? ''
}

/** What the proposed recipe makes of the very post. */
function reads(body: unknown, use: { rigs?: readonly string[]; mediaType?: string } = {}) {
  const proposal = propose(body, use)
  const recipe = readRecipe(proposal.recipe)
  if (!recipe.ok) throw new Error(JSON.stringify({ proposal, recipe }))
  const slugs = use.rigs ?? ['kestrel']
  const found = findRecords({
    mediaType: use.mediaType ?? 'application/json',
    text: typeof body === 'string' ? body : JSON.stringify(body),
    recipe: recipe.recipe,
    recipeVersion: 1,
    rigs: slugs,
    receivedS: NOW_S,
  })
  if ('problem' in found) throw new Error(found.detail)
  const rigs = slugs.map((slug, index) => ({ key: index + 1, slug }))
  return takeIn(found, { rigs, receivedS: NOW_S })
}

const FORM = 'application/x-www-form-urlencoded'
type Case = readonly [name: string, body: unknown, wanted: object, use?: { readonly mediaType?: string }]
const CASES: readonly Case[] = [
  [
    'flat, a fraction and kelvin',
    { humidity: 0.113, temp: 291.3 },
    { humidityCentiPct: 1130, tempCentiC: 1815 },
  ],
  [
    'nested, names with slashes',
    { 'a/b': { rh: 12, temperature: 18 } },
    { humidityCentiPct: 1200, tempCentiC: 1800 },
  ],
  [
    'a list, milliseconds, Fahrenheit by its size',
    { readings: [{ n: 1, time: NOW_S * 1000, hum: 12, tmp: 68 }] },
    { humidityCentiPct: 1200, tempCentiC: 2000, atS: NOW_S },
  ],
  [
    'text times',
    { at: '2026-09-21T09:00:00+02:00', hum: 12 },
    { atS: 1_789_974_000, humidityCentiPct: 1200 },
  ],
  [
    'a form',
    'hum=12.1&tmp=18&relay=on&watts=4.2',
    { humidityCentiPct: 1210, tempCentiC: 1800, pumpOn: 1, powerDeciW: 42 },
    { mediaType: FORM },
  ],
  [
    'a CSV with its own header, semantics by name',
    `when,box hum,box temp\n2026-09-21T09:00:00Z,11.5,64.4\n2026-09-21T09:05:00Z,11.6,64.5\n`,
    { humidityCentiPct: 1150, tempCentiC: 1800, atS: 1_789_981_200 },
    { mediaType: 'text/csv' },
  ],
  [
    'values in objects with a unit beside',
    { sensors: { temperature: { value: 41, unit: '°F' }, humidity: { value: 9.5, unit: '%' } } },
    { humidityCentiPct: 950, tempCentiC: 500 },
  ],
  [
    'camel case with the unit last',
    { boxTempF: 41, boxHumidity: 9.5 },
    { humidityCentiPct: 950, tempCentiC: 500 },
  ],
  ['numbers in texts', { hum: '9.5', temp: '18.0 ' }, { humidityCentiPct: 950, tempCentiC: 1800 }],
  [
    'the time once, outside of the records',
    { ts: NOW_S - 60, data: [{ hum: 9.5 }] },
    { atS: NOW_S - 60, humidityCentiPct: 950 },
  ],
  ['a root list', [{ rh: 9.5, sw: false }], { humidityCentiPct: 950, pumpOn: 0 }],
  ['milliwatts', { rh: 9.5, power_mw: 4200 }, { powerDeciW: 42 }],
  ['the pump in words', { rh: 9.5, pump: 'running' }, { pumpOn: 1 }],
  ['a dew point is no temperature', { rh: 9.5, temp_dew: -14, temp: 18 }, { tempCentiC: 1800 }],
  ['a limit is no reading', { hum_limit: 15, hum: 9.5 }, { humidityCentiPct: 950 }],
  ['the air outside comes second', { hum_out: 70, hum_box: 9.5 }, { humidityCentiPct: 950, place: 0 }],
  ['only the air outside', { ambient_hum: 70 }, { humidityCentiPct: 7000, place: 2 }],
  ['the place in words', { rh: 9.5, place: 'Supply' }, { humidityCentiPct: 950, place: 1 }],
  [
    'an event around the record',
    { specversion: '1.0', type: 'air', time: '2026-09-21T09:00:00Z', data: { hum: 9.5, temp: 18 } },
    { humidityCentiPct: 950, atS: 1_789_981_200 },
  ],
  ['an hour ahead of its arrival', { ts: NOW_S + 3600, rh: 9.5 }, { atS: NOW_S, humidityCentiPct: 950 }],
]

describe('a recipe proposed from a post reads that post', () => {
  test.each(CASES.map(([name, body, wanted, use]) => ({ name, body, wanted, use })))('$name', (one) => {
    const taken = reads(one.body, one.use)
    expect(taken.setAside).toEqual([])
    expect(taken.readings[0]).toMatchObject(one.wanted)
  })
})

describe('each part says why', () => {
  test('by the name and the value', () => {
    const proposal = propose({ hum: 41.2, tmp: 64.8, ts: NOW_S, sw: 'ON', w: 4.1 })
    expect(reasonOf(proposal, 'humidity')).toBe(
      '"hum" is named like humidity, and 41.2 lies between 0 and 100 %',
    )
    expect(reasonOf(proposal, 'temperature')).toBe(
      '"tmp" is named like temperature, and 64.8 is too warm for a hangar in degrees Celsius: Fahrenheit',
    )
    expect(reasonOf(proposal, 'at')).toBe(
      `"ts" is named like a time, and ${NOW_S} is one in seconds since 1970`,
    )
    expect(reasonOf(proposal, 'pump')).toBe('"sw" is named like a switch, and "ON" says on or off')
    expect(reasonOf(proposal, 'power')).toContain('4.1 can be the watts of a small pump')
    expect(reasonOf(proposal, 'place')).toContain('is assumed')
  })

  test('over all records of a list', () => {
    const proposal = propose({ data: [{ rh: 0.4 }, { rh: 9.1 }, { rh: 12.44 }] })
    expect(proposal.recipe).toMatchObject({ each: '/data', humidity: { from: '/rh', unit: '%' } })
    expect(reasonOf(proposal, 'each')).toBe('a list of 3 records with the values in them')
    expect(reasonOf(proposal, 'humidity')).toContain('0.4 to 12.44 lies between 0 and 100 %')
  })

  test('a hub clock that is ahead is named and corrected', () => {
    const proposal = propose({ ts: NOW_S + 7200, rh: 9.5 })
    expect(proposal.recipe).toMatchObject({ clockOffsetS: -7200 })
    expect(reasonOf(proposal, 'clockOffsetS')).toContain('120 minutes ahead')
  })

  test.each([
    ['no time', { rh: 9.5 }, 'There is no time in it'],
    ['a time without a zone', { rh: 9.5, time: '2026-09-21 09:00:00' }, 'have no zone'],
    ['two of a kind', { hum_out: 70, hum_box: 9.5 }, 'another humidity at /hum_out'],
  ])('what is left to the person is said: %s', (_, body, words) => {
    const proposal = propose(body)
    expect(proposal.recipe === null ? [] : proposal.notes).toContainEqual(expect.stringContaining(words))
  })
})

describe('with several rigs', () => {
  test('a device that is called like a rig is that rig', () => {
    const proposal = propose(
      [
        { dev: 'Plover', rh: 9 },
        { dev: 'a1', rh: 9 },
      ],
      { rigs: RIGS },
    )
    expect(proposal.recipe).toMatchObject({
      rig: { from: '/dev', match: { Plover: 'plover', a1: 'kestrel' } },
    })
    expect(proposal.recipe === null ? [] : proposal.notes).toContainEqual(
      expect.stringContaining('Which rig "a1" stands for is a guess'),
    )
  })

  test('where nothing says which, that is said', () => {
    const proposal = propose({ rh: 9 }, { rigs: RIGS })
    expect(proposal.recipe === null ? [] : proposal.notes).toContainEqual(
      expect.stringContaining('Nothing in it says which rig'),
    )
  })
})

test.each([
  ['no JSON', 'hello', 'no JSON'],
  ['no air in it', { voltage: 3.3 }, 'no humidity and no temperature'],
  ['a word where the humidity should be', { hum: 'unavailable' }, 'no humidity and no temperature'],
  ['a humidity that cannot be one', { humidity: 1798 }, 'no humidity and no temperature'],
  ['a pack of SenML', [{ n: 'rh', u: '%RH', v: 9 }], 'SenML is read without a recipe'],
])('nothing is proposed from %s, and why is said', (_, body, why) => {
  const proposal = propose(body)
  expect(proposal.recipe === null ? proposal.why : '').toContain(why)
})

test('whatever is in a post: a recipe that can be saved, or a reason why not', () => {
  const name = fc.constantFrom(
    'hum',
    'temp',
    'ts',
    'sw',
    'power',
    'dev',
    '__proto__',
    'a/b~c',
    'value',
    'x',
    '',
  )
  const leaf = fc.oneof(fc.double(), fc.integer(), fc.string(), fc.boolean(), fc.constant(null))
  const { body } = fc.letrec((tie) => ({
    body: fc.oneof(
      { maxDepth: 5 },
      leaf,
      fc.array(tie('body'), { maxLength: 4 }),
      fc.array(fc.tuple(name, tie('body')), { maxLength: 6 }).map((pairs) => Object.fromEntries(pairs)),
    ),
  }))
  let proposed = 0
  fc.assert(
    fc.property(body, fc.constantFrom(['kestrel'], RIGS), (value, rigs) => {
      const proposal = propose(JSON.stringify(value) ?? 'null', { rigs })
      if (proposal.recipe === null) {
        expect(proposal.why).not.toBe('')
        return
      }
      proposed += 1
      expect(readRecipe(proposal.recipe)).toMatchObject({ ok: true })
      for (const { reason } of proposal.reasons) expect(reason).not.toBe('')
    }),
    { seed: 7, numRuns: 3000 },
  )
  expect(proposed).toBeGreaterThan(100)
})
