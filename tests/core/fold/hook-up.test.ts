import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 20
const OFF_S = DAY_ZERO_S + DAYS * 24 * HOUR
const BACK_ON_S = OFF_S + 6 * HOUR

/** Off the engine the box reads the hangar's 75 %; ten minutes after the pump was started, the engine's 95 % or as before. */
function readings(engineHumidityPct: number): Reading[] {
  return Array.from({ length: 8 * 12 }, (_, index) => {
    const atS = OFF_S + 300 * (index + 1)
    const humidityPct = (atS > BACK_ON_S + 600 ? engineHumidityPct : 75) + 0.1 * (index % 2)
    return { atS, place: 'return' as const, humidityPct, tempC: 15, pumpOn: atS >= BACK_ON_S, powerW: null }
  })
}

function isProven(engineHumidityPct: number): boolean {
  const log = [
    { atS: OFF_S, what: 'off' as const, detail: {} },
    { atS: BACK_ON_S - 2 * HOUR, what: 'flight' as const, detail: { hours: '1' } },
    { atS: BACK_ON_S + 60, what: 'on' as const, detail: {} },
  ]
  const all = [...sawTooth({ days: DAYS, noisePct: 0.1 }), ...readings(engineHumidityPct)]
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { memory } = advance(newMemory(DAY_ZERO_S), { readings: all, log, settings }, BACK_ON_S + 2 * HOUR)
  return memory.gate.isOpen && memory.gate.isProven
}

test('engine air that takes the place of the hangar air in the box proves the flow, though the logbook came between', () => {
  expect(isProven(95)).toBe(true)
  // As wet as the hangar: nothing has been seen to move.
  expect(isProven(75)).toBe(false)
})
