import { expect, test } from 'vitest'
import type { Ingress } from '../../../src/core/rules/ingress-window.ts'
import {
  type LeakChart,
  forgetEarly,
  isLeak,
  startChart,
  takeWindow,
  withPart,
} from '../../../src/core/rules/leak-chart.ts'

const HALF_DAY_S = 43_200

/** A window of half a day that let in so many times a litre an hour, two fifths of it for certain, `dryDays` after a flight. */
function window(index: number, times: number, dryDays: number): Ingress {
  return {
    fromS: index * HALF_DAY_S,
    toS: (index + 1) * HALF_DAY_S,
    litresPerH: times,
    leastLPerH: 0.4 * times,
    climbPerH: 0.01 * times,
    driveShare: 0.8,
    dryDays,
    isSettled: dryDays > 5,
  }
}

const HOW = { isAmbientMeasured: true, isOpen: false }

/** A rig that takes in a litre an hour and has flown often. */
function known(): LeakChart {
  const chart = startChart()
  for (let i = 0; i < 24; i++) takeWindow(chart, window(i, 1, i % 3 === 0 ? 4 : 20), HOW)
  return chart
}

test('with a new flight what the one before it left is no evidence any more, but a dry engine that took in air is', () => {
  const early = known()
  takeWindow(early, window(24, 15, 4), HOW)
  expect(early.sum).toBeGreaterThan(0)
  forgetEarly(early)
  expect(early.sum).toBe(0)
  const dry = known()
  takeWindow(dry, window(24, 15, 20), HOW)
  const { sum } = dry
  forgetEarly(dry)
  expect(dry.sum).toBe(sum)
})

test('proof need not wait until a window is full, and what a part of one says counts as a part', () => {
  const chart = known()
  takeWindow(chart, window(24, 4, 20), HOW)
  takeWindow(chart, window(25, 1.9, 20), HOW)
  const afterHours = (hours: number) => {
    const part = { ...window(26, 4, 20), toS: 26 * HALF_DAY_S + hours * 3600 }
    const trial = withPart(chart, part, HOW)
    return trial !== null && isLeak(trial, part.toS, true)
  }
  expect(isLeak(chart, 26 * HALF_DAY_S, true)).toBe(false)
  expect(afterHours(3)).toBe(false)
  expect(afterHours(10)).toBe(true)
  // Nothing of it is kept.
  expect(chart.count).toBe(2)
  const one = known()
  const small = { ...window(24, 4, 20), toS: 24 * HALF_DAY_S + 3 * 3600 }
  expect(withPart(one, small, HOW)?.sum).toBeLessThan(0.7)
  expect(withPart(startChart(), small, HOW)).toBeNull()
})

test('oil that takes up a share of the first day does not hide the leak that shows on the next', () => {
  const chart = known()
  for (const [i, times] of [2.35, 2.4, 3.2].entries()) takeWindow(chart, window(24 + i, times, 20), HOW)
  expect(isLeak(chart, 27 * HALF_DAY_S, true)).toBe(true)
  takeWindow(chart, window(27, 2.3, 20), HOW)
  expect(isLeak(chart, 28 * HALF_DAY_S, true)).toBe(false)
})

test('a rig that takes in less than a sensor can tell is not told for a little more', () => {
  const tight = startChart()
  for (let i = 0; i < 24; i++) takeWindow(tight, window(i, 0.02, 20), HOW)
  for (let i = 24; i < 32; i++) takeWindow(tight, window(i, 0.2, 20), HOW)
  expect(isLeak(tight, 32 * HALF_DAY_S, true)).toBe(false)
  for (let i = 32; i < 38; i++) takeWindow(tight, window(i, 0.6, 20), HOW)
  expect(isLeak(tight, 38 * HALF_DAY_S, true)).toBe(true)
})

/** Whether two days at four times the own are told, of which the rests climb so many times faster and so much is for certain. */
function isTold(climbTimes: number, leastTimes: number, areBeadsFresh: boolean): boolean {
  const chart = known()
  const seen = { climbPerH: 0.01 * climbTimes, leastLPerH: leastTimes }
  for (let i = 24; i < 28; i++) takeWindow(chart, { ...window(i, 4, 20), ...seen }, HOW)
  return isLeak(chart, 28 * HALF_DAY_S, areBeadsFresh)
}

test('beads that may be used up make the water say nothing: then the climb of the rests has to say all of it', () => {
  expect(isTold(1.5, 1, true)).toBe(true)
  expect(isTold(1.5, 1, false)).toBe(false)
  expect(isTold(4, 1, false)).toBe(true)
})

test('more water over stop than ever came out of the engine, however the rests climb; all of it, where used-up beads may send some back', () => {
  expect(isTold(1, 1.4, true)).toBe(true)
  expect(isTold(1, 1.4, false)).toBe(false)
  expect(isTold(1, 2.4, false)).toBe(false)
  expect(isTold(1, 2.6, false)).toBe(true)
  expect(isTold(1, 1.1, true)).toBe(false)
})

test('what lasted no longer than a day may have been the day', () => {
  const chart = known()
  takeWindow(chart, window(24, 8, 20), HOW)
  const last = window(25, 8, 20)
  takeWindow(chart, { ...last, toS: last.toS - 3600 }, HOW)
  expect(isLeak(chart, last.toS - 3600, true)).toBe(false)
  expect(isLeak(chart, last.toS, true)).toBe(true)
})

function sumAfter(times: number, isAmbientMeasured: boolean): number {
  const chart = known()
  takeWindow(chart, window(24, times, 20), { isAmbientMeasured, isOpen: false })
  return chart.sum
}

test('two and a half times as much is evidence where the hangar is measured, and half of it the weather where it is stated', () => {
  expect(sumAfter(2.5, true)).toBeGreaterThan(2)
  expect(sumAfter(2.5, false)).toBeLessThan(1)
  expect(sumAfter(2, false)).toBe(0)
})

test('a day at twice the own does not undo what days at ten times have said, one at the own does', () => {
  const sumsAfter = [2.2, 1].map((times) => {
    const chart = known()
    for (const [i, one] of [10, 10, times].entries()) takeWindow(chart, window(24 + i, one, 20), HOW)
    return chart.sum
  })
  expect(sumsAfter[0]).toBeGreaterThan(4)
  expect(sumsAfter[1]).toBeLessThan(2)
})

test('a dry day is no sign of a leak, however dry', () => {
  for (const times of [0.5, 0.1, 0.001]) expect(sumAfter(times, true)).toBe(0)
})

/** The chart of a rig that has flown: windows of so many times its own, at so many days after the flight. */
function afterFlight(seen: readonly (readonly [dryDays: number, times: number])[]): boolean {
  const chart = known()
  for (const [i, [dryDays, times]] of seen.entries()) takeWindow(chart, window(24 + i, times, dryDays), HOW)
  return isLeak(chart, (24 + seen.length) * HALF_DAY_S, true)
}

test('what began at a flight and fades is its water, as long as it does; a leak of those days stands', () => {
  const early = [
    [3.5, 5],
    [4.2, 5],
  ] as const
  expect(afterFlight([...early, [5.2, 5]])).toBe(true)
  expect(afterFlight([...early, [5.2, 3.2]])).toBe(false)
  // What is still there after that is told.
  expect(afterFlight([...early, [5.2, 3.2], [5.8, 3.2], [6.4, 3.2], [7, 3.2]])).toBe(true)
})
