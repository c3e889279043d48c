import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
/** Over the last outage somebody may have flown. */
const HEARD_S = DAY_ZERO_S + DAYS * 24 * HOUR + 2 * HOUR

/** The box climbs to `start`, and is at `toPct` in the next reading; no report of the pump. */
function climbAndFall(toPct: number): Reading[] {
  return Array.from({ length: 60 }, (_, index) => ({
    atS: HEARD_S + 300 * (index + 1),
    place: 'return' as const,
    humidityPct: index < 48 ? 8 + (6.5 * index) / 48 : toPct,
    tempC: 15,
    pumpOn: null,
    powerW: null,
  }))
}

function isEligibleAfter(toPct: number): boolean {
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const readings = [...sawTooth({ days: DAYS, noisePct: 0.1, basis: 'inferred' }), ...climbAndFall(toPct)]
  const { memory } = advance(newMemory(DAY_ZERO_S), { readings, log: [], settings }, HEARD_S + 5 * HOUR)
  expect(memory.run).toBeNull()
  return memory.gate.eligibleFromS !== null
}

test('air that came down the band between two readings was dried by a run, and what may have wetted the engine before is over', () => {
  expect(isEligibleAfter(7)).toBe(false)
  expect(isEligibleAfter(12)).toBe(true)
})
