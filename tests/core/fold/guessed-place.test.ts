import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading, RigSettings } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
const BACK_ON_S = DAY_ZERO_S + DAYS * 24 * HOUR

/** Evaporation into a box that its pump keeps nine degrees above the metal: % RH there, day after day. */
function coldPlateau(humidityPct: number): Reading[] {
  return Array.from({ length: 20 * 12 }, (_, index) => {
    const atS = BACK_ON_S + 300 * (index + 1)
    return [
      {
        atS,
        place: 'return' as const,
        humidityPct: humidityPct + 0.1 * (index % 2),
        tempC: -8,
        pumpOn: true,
        powerW: null,
      },
      { atS, place: 'ambient' as const, humidityPct: 85, tempC: -17, pumpOn: null, powerW: null },
    ]
  }).flat()
}

/** Whether the plateau is still believed after twenty hours, on a rig whose last one outlasted the wait. */
function isBelieved(humidityPct: number, sensorSits: RigSettings['sensorSits']): boolean {
  const settings = [{ fromS: 0, settings: { ...SETTINGS, sensorSits } }]
  const healthy = sawTooth({ days: DAYS, noisePct: 0.1 })
  const log = [
    { atS: BACK_ON_S - 4 * HOUR, what: 'flight' as const, detail: { hours: '1' } },
    { atS: BACK_ON_S, what: 'on' as const, detail: {} },
  ]
  const before = advance(
    newMemory(DAY_ZERO_S),
    { readings: healthy, log: [], settings },
    BACK_ON_S - 5 * HOUR,
  )
  const taught = { ...before.memory, gate: { ...before.memory.gate, outlastedS: 40 * HOUR } }
  const readings = coldPlateau(humidityPct)
  const { memory } = advance(taught, { readings, log, settings: [] }, BACK_ON_S + 20 * HOUR)
  return memory.gate.isOpen
}

test('where it is only guessed that a sensor sits in the engine, air that is wet for one in the box is wet as well', () => {
  expect(isBelieved(36, 'box')).toBe(true)
  expect(isBelieved(36, null)).toBe(true)
  // What a sensor in the engine reads is the share itself: that is no evaporation.
  expect(isBelieved(36, 'engine')).toBe(false)
  expect(isBelieved(85, 'engine')).toBe(true)
})
