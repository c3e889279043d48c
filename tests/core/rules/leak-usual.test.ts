import { expect, test } from 'vitest'
import type { Ingress } from '../../../src/core/rules/ingress-window.ts'
import { type Seen, excessOf, leftOf, seenOf, usualOf } from '../../../src/core/rules/leak-usual.ts'

const WINDOW: Ingress = {
  fromS: 0,
  toS: 86_400,
  litresPerH: 1,
  leastLPerH: 0.4,
  climbPerH: 0.02,
  driveShare: 0.8,
  dryDays: 20,
  isSettled: true,
}

/** Windows of a rig of 1 L/h to which a flight adds ln 6 at three days, and `scatter` from one to the next. */
function windows(days: readonly number[], scatter = 0.2): Seen[] {
  return days.map((dryDays, i) => {
    const ln = Math.log(6) * leftOf(dryDays) + (i % 2 === 0 ? scatter : -scatter)
    return seenOf({ ...WINDOW, dryDays, litresPerH: Math.exp(ln), climbPerH: 0.02 * Math.exp(ln) })
  })
}

const often = (days: readonly number[], times: number) => Array.from({ length: times }, () => days).flat()

test('what a flight leaves falls by a time constant of four days from the third day on', () => {
  expect(leftOf(3)).toBe(1)
  expect(leftOf(1)).toBe(1)
  expect(leftOf(7)).toBeCloseTo(Math.exp(-1), 12)
  expect(leftOf(Infinity)).toBe(0)
})

test('after some flights a window days after one is no more than usual for this rig', () => {
  const usual = usualOf(windows(often([3.5, 4.5, 5.5, 6.5, 9, 10, 11, 12], 4)))
  const wet = { ...WINDOW, dryDays: 5.5, litresPerH: 6 ** leftOf(5.5), climbPerH: 0.02 * 6 ** leftOf(5.5) }
  expect(Math.exp(usual.litres.mid)).toBeGreaterThan(0.8)
  expect(Math.exp(usual.litres.mid)).toBeLessThan(1.25)
  expect(Math.abs(excessOf(usual, wet).litres)).toBeLessThan(0.25)
  expect(Math.abs(excessOf(usual, wet).climb)).toBeLessThan(0.25)
  expect(excessOf(usual, { ...WINDOW, litresPerH: 5 }).litres).toBeCloseTo(Math.log(5), 0)
})

test('before it has seen flights, days after one are doubted, not believed', () => {
  const usual = usualOf(windows(often([20, 21, 22], 6)))
  const dry = excessOf(usual, { ...WINDOW, litresPerH: 5 })
  const wet = excessOf(usual, { ...WINDOW, litresPerH: 5, dryDays: 3.5 })
  expect(wet.variance).toBeGreaterThan(3 * dry.variance)
  expect(wet.litres).toBeLessThan(dry.litres)
})

test('of a drive that is a fifth of the hangar, the error of two sensors is half', () => {
  const usual = usualOf(windows(often([20, 21], 10)))
  const moist = excessOf(usual, WINDOW).variance
  const dry = excessOf(usual, { ...WINDOW, driveShare: 0.2 }).variance
  expect(dry - moist).toBeCloseTo(0.5 ** 2 - 0.125 ** 2, 6)
})

test('a few windows are trusted less than many of the same scatter', () => {
  const few = excessOf(usualOf(windows([20, 21, 22])), WINDOW)
  const many = excessOf(usualOf(windows(often([20, 21, 22], 10))), WINDOW)
  expect(few.variance).toBeGreaterThan(1.3 * many.variance)
})

const seen = (litresPerH: number) => seenOf({ ...WINDOW, litresPerH })

test('windows in which hardly anything got in do not excuse one in which much did', () => {
  const even = usualOf(Array.from({ length: 20 }, (_, i) => seen(i % 2 === 0 ? 0.9 : 1.1)))
  const low = usualOf(Array.from({ length: 20 }, (_, i) => seen(i % 5 === 0 ? 0.9 : i % 2 === 0 ? 1.1 : 0.1)))
  const high = usualOf(Array.from({ length: 20 }, (_, i) => seen(i % 5 === 0 ? 0.9 : i % 2 === 0 ? 0.8 : 9)))
  expect(low.variance).toBeLessThan(2 * even.variance)
  expect(high.variance).toBeGreaterThan(8 * even.variance)
})
