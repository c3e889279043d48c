import { expect, test } from 'vitest'
import type { Ingress } from '../../../src/core/rules/ingress-window.ts'
import { type LeakChart, forgetEarly, startChart, takeWindow } from '../../../src/core/rules/leak-chart.ts'

const HALF_DAY_S = 43_200

/** A window of half a day that let in so many times a litre an hour, `dryDays` after a flight. */
function window(index: number, times: number, dryDays: number): Ingress {
  return {
    fromS: index * HALF_DAY_S,
    toS: (index + 1) * HALF_DAY_S,
    litresPerH: times,
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
