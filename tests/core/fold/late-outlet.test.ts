import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS } from './saw-tooth.ts'

const MIN = 60

/**
 * A damp engine after a flight starts its pump anew every sixteen minutes, for five; the outlet reports either ten minutes late.
 */
function shortCycles(hours: number, lateMin: number): Reading[] {
  return Array.from({ length: hours * 60 }, (_, index) => {
    const [minute, reported] = [index % 16, (index + 16 - lateMin) % 16]
    const humidityPct =
      minute < 2 ? 15 + 12 * minute : minute < 5 ? 27 - 7 * (minute - 2) : 6 + 0.8 * (minute - 4)
    const atS = DAY_ZERO_S + index * MIN
    return { atS, place: 'return', humidityPct, tempC: 15, pumpOn: reported < 5, powerW: null }
  })
}

test('a run that is reported late is not begun before the one before has ended: nothing is counted twice', () => {
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const waterG = [0, 10].map((lateMin) => {
    const inputs = { readings: shortCycles(12, lateMin), log: [], settings }
    const { cycles } = advance(newMemory(DAY_ZERO_S - 300), inputs, DAY_ZERO_S + 12 * 3600)
    expect(cycles.length).toBeGreaterThan(30)
    for (const { restMin } of cycles) expect(restMin).toBeGreaterThanOrEqual(0)
    return cycles.reduce((sum, cycle) => sum + (cycle.waterG ?? 0), 0)
  })
  expect(waterG[1] ?? 0).toBeLessThan(2 * (waterG[0] ?? 0))
})
