import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import { canHaveEmptied } from '../../../src/core/fold/emptied.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS } from './saw-tooth.ts'

test('a run has lasted half of what mixing takes from one end of the band to the other', () => {
  // 45 L at 2.5 L/min from 15 to 6 %: 18 min times ln 2.5 is 16.5 min.
  expect(canHaveEmptied(SETTINGS, 8 * 60)).toBe(false)
  expect(canHaveEmptied(SETTINGS, 9 * 60)).toBe(true)
  // 15 min where the volume is not stated.
  expect(canHaveEmptied({ ...SETTINGS, volumeL: null }, 6 * 60)).toBe(false)
  expect(canHaveEmptied({ ...SETTINGS, volumeL: null }, 7 * 60)).toBe(true)
  // A narrow band is crossed sooner.
  expect(canHaveEmptied({ ...SETTINGS, band: { startPct: 15, stopPct: 8 } }, 6 * 60)).toBe(true)
})

/** Whether a plateau may still be a flight's after a reported run of `minutes` that came down to `stop`. */
function isEligibleAfter(minutes: number): boolean {
  const readings: Reading[] = Array.from({ length: 90 }, (_, index) => {
    const ranMin = index - 30
    const isOn = ranMin >= 0 && ranMin < minutes
    const fall = Math.min(1, Math.max(0, ranMin / minutes))
    const humidityPct = ranMin < 0 ? 13 + index / 15 : 15 - 10 * fall
    return {
      atS: DAY_ZERO_S + 60 * index,
      place: 'return',
      humidityPct,
      tempC: 15,
      pumpOn: isOn,
      powerW: null,
    }
  })
  const inputs = { readings, log: [], settings: [{ fromS: 0, settings: SETTINGS }] }
  return advance(newMemory(DAY_ZERO_S), inputs, DAY_ZERO_S + 5400).memory.gate.eligibleFromS !== null
}

test('with the hoses joined to each other for a flight the box is dry in two minutes, and the engine as wet as before', () => {
  expect(isEligibleAfter(2)).toBe(true)
  expect(isEligibleAfter(25)).toBe(false)
})
