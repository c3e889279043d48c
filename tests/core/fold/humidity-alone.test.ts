import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { lookAt } from '../../../src/core/fold/view.ts'
import { rigSentence } from '../../../src/core/words/rig-sentence.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY = 86_400
const END_S = DAY_ZERO_S + 5 * DAY

/** A rig of which nothing but its humidity is known. */
function viewOf(readings: readonly Reading[]) {
  const blind = readings.map((reading) => Object.assign({}, reading, { tempC: null }))
  const settings = [{ fromS: 0, settings: { ...SETTINGS, ambient: null } }]
  const step = advance(newMemory(DAY_ZERO_S), { readings: blind, log: [], settings }, END_S)
  return lookAt(step.memory, END_S)
}

test('without any temperature the metal has the humidity that is read', () => {
  const damp = sawTooth({ days: 5 }).map((reading) =>
    Object.assign({}, reading, { humidityPct: 35 + (reading.atS % 7) / 10, pumpOn: false }),
  )
  const { exposure } = viewOf(damp)
  expect(exposure.under40).toBeGreaterThan(119)
  expect(exposure.from40to60).toBe(0)
})

test('and none is said of its air', () => {
  const view = viewOf(sawTooth({ days: 5, noisePct: 0.1 }))
  expect(view.engineAir?.humidityPct).toBeLessThan(15)
  expect(view.engineAir?.tempC).toBeNull()
  expect(rigSentence(view, PLAIN, END_S)).not.toContain('°C')
})
