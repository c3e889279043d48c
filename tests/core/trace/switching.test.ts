import { expect, test } from 'vitest'
import {
  startPointPct,
  startSwitching,
  stopPointPct,
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
