import { expect, test } from 'vitest'
import { sprungFromS } from '../../../src/core/trace/sprung.ts'

const LIMITS = { startPct: 18, leastStartPct: null, sigmaPct: 0.1, stepPct: 0.1 }

const every = (everyS: number, pcts: readonly number[]) =>
  pcts.map((pct, index): [number, number, number] => [index * everyS, pct, pct / 10])

test.each([
  ['a run begins just under the limit, with a surge or with hangar air', [17.7, 17.7, 17.8, 17.9, 62], null],
  ['hangar air in one post, from well below', [13, 13, 13.1, 13.1, 62], 900],
  ['the same when a post lies in between', [13, 13, 13.1, 15.4, 33], 600],
  ['a box that climbs fast is at the limit by the next post', [12, 13.2, 14.4, 15.6, 62], null],
  ['air that creeps past the limit', [15.4, 16.2, 17, 17.8, 18.6], null],
])('%s', (_, pcts, fromS) => {
  expect(sprungFromS(every(300, pcts), LIMITS)).toBe(fromS)
})

test('where starts were seen, air below the least of them by what the sensor may be off is enough', () => {
  const readings = every(60, [17, 17, 17, 17, 17, 17, 17, 17, 17, 17, 17, 17, 25])
  expect(sprungFromS(readings, LIMITS)).toBeNull()
  expect(sprungFromS(readings, { ...LIMITS, leastStartPct: 17.8 })).toBe(660)
  expect(sprungFromS(readings, { ...LIMITS, leastStartPct: 17.3 })).toBeNull()
})
