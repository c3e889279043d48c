import { expect, test } from 'vitest'
import {
  passedPct,
  startPointPct,
  startSwitching,
  stopPointPct,
  surelyOnPct,
  takeStartPoint,
  takeStopPoint,
} from '../../../src/core/trace/switching.ts'

const BAND = { startPct: 15, stopPct: 6 }

test('where the outlet starts is learned from its own starts, not from a hand that hooks a wet engine up', () => {
  const memory = startSwitching()
  for (const pct of [62, 71, 15.8, 16.1, 58, 15.9, 80, 16.2, 66, 16]) takeStartPoint(memory, pct, BAND)
  expect(startPointPct(memory, BAND.startPct)).toBeCloseTo(16, 5)
})

test('where the outlet stops is not learned from values that a hub posts again', () => {
  const memory = startSwitching()
  for (const pct of [14.6, 6.1, 14.8, 12.7, 6.2, 14.9, 13, 6, 6.1, 14.7, 6]) takeStopPoint(memory, pct, BAND)
  expect(stopPointPct(memory, BAND.stopPct)).toBeCloseTo(6.1, 5)
})

test('air that stands above the latest of its starts has started an outlet; it is asked for no more than its tolerance, and for no less than its limit', () => {
  const at = { startPct: 15, tolPct: 1, sigmaPct: 0.1 }
  const memory = startSwitching()
  expect(surelyOnPct(memory, at)).toBe(16)
  for (const pct of [15.2, 15.1, 15.3, 15.2, 15.1]) takeStartPoint(memory, pct, BAND)
  expect(surelyOnPct(memory, at)).toBeCloseTo(15.5, 5)
  takeStartPoint(memory, 15.95, BAND)
  expect(surelyOnPct(memory, at)).toBe(16)
  const early = startSwitching()
  for (let run = 0; run < 5; run++) takeStartPoint(early, 14.2, BAND)
  expect(surelyOnPct(early, at)).toBeCloseTo(15.2, 5)
})

test('a single reading has to be past the tolerance, and past the noise of air that is still below the limit', () => {
  expect(passedPct({ startPct: 15, tolPct: 1, sigmaPct: 0.1 })).toBe(16)
  expect(passedPct({ startPct: 15, tolPct: 1, sigmaPct: 0.5 })).toBe(16.5)
})
