import { expect, test } from 'vitest'
import { sprungFromS } from '../../../src/core/trace/sprung.ts'

const LIMITS = { startPct: 18, leastStartPct: null, sigmaPct: 0.1, stepPct: 0.1 }

const every = (everyS: number, pcts: readonly number[]) =>
  pcts.map((pct, index): [number, number, number] => [index * everyS, pct, pct / 10])

test.each([
  ['a run begins just under the limit, with a surge or with hangar air', [17.7, 17.7, 17.8, 17.9, 62], null],
  ['hangar air in one post, from well below', [13, 13, 13.1, 13.1, 62], 900],
  ['the same when a post lies in between', [13, 13, 13.1, 15.4, 33], 600],
  ['and when it is posted twice', [13, 13, 13.1, 15.4, 15.4, 33], 600],
  ['a box that climbs fast is at the limit by the next post', [12, 13.2, 14.4, 15.6, 62], null],
  ['air that creeps past the limit', [15.4, 16.2, 17, 17.8, 18.6], null],
])('%s', (_, pcts, fromS) => {
  expect(sprungFromS(every(300, pcts), LIMITS)).toBe(fromS)
})

/** Twelve minutes about `fromPct`, and five of a sensor of 25 min in air of 48 %. */
function lagged(fromPct: number): [number, number, number][] {
  const still = Array.from({ length: 12 }, (_, i) => fromPct - 0.1 * (i % 2))
  const rising = [1, 2, 3, 4, 5].map((min) => 48 - (48 - fromPct) * Math.exp(-min / 25))
  return every(60, [...still, ...rising])
}

test('a slow sensor shows it over many posts, each of which rises by less than a jump', () => {
  expect(sprungFromS(lagged(15), LIMITS)).toBe(660)
  expect(sprungFromS(lagged(17.7), LIMITS)).toBeNull()
})

test('of a sensor that reads whole percents the air was less than half of one above what is shown', () => {
  const coarse = { startPct: 13, leastStartPct: 12, sigmaPct: 0.13, stepPct: 1 }
  expect(sprungFromS(every(300, [11, 11, 11, 11, 24]), coarse)).toBe(900)
  expect(sprungFromS(every(300, [12, 12, 12, 12, 24]), coarse)).toBeNull()
})

test('where starts were seen, air below the least of them by what the sensor may be off is enough', () => {
  const readings = every(60, [17, 17, 17, 17, 17, 17, 17, 17, 17, 17, 17, 17, 25])
  expect(sprungFromS(readings, LIMITS)).toBeNull()
  expect(sprungFromS(readings, { ...LIMITS, leastStartPct: 17.8 })).toBe(660)
  expect(sprungFromS(readings, { ...LIMITS, leastStartPct: 17.3 })).toBeNull()
})
