import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { FillMemory } from '../../../src/core/fold/fill-memory.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 20
const OFF_S = DAY_ZERO_S + DAYS * 24 * HOUR

/** From one run to the next the air no longer gets below 12 %: a cap is off. */
function standing(hours: number): Reading[] {
  return Array.from({ length: 12 * hours }, (_, index) => ({
    atS: OFF_S + 300 * (index + 1),
    place: 'return',
    humidityPct: 12 + 4 * Math.exp(-index / 12) + 0.1 * (index % 2),
    tempC: 15,
    pumpOn: true,
    powerW: null,
  }))
}

function after(hours: number): FillMemory {
  const readings = [...sawTooth({ days: DAYS, noisePct: 0.1 }), ...standing(hours)]
  const log = [{ atS: DAY_ZERO_S + 2 * HOUR, what: 'bake' as const, detail: {} }]
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { fill } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, OFF_S + hours * HOUR).memory
    .beads
  if (fill === null) throw new Error('no beads')
  return fill
}

test('beads that brought the last runs down in their usual time are not used up within one that moved a few grams', () => {
  const before = after(0)
  expect(before.usualAtG).toBeGreaterThan(0)
  // 0.23 g an hour into two kilograms.
  const sudden = after(12)
  expect(sudden.overAtG).toBeNull()
  expect(sudden.odds?.front).toBeLessThan(0.1)
  expect(after(60).overAtG).toBeGreaterThan(0)
})
