import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY = 86_400

test('while the rig is logged off the hangar that is heard warms the metal: a mild spring leaves no dew on it', () => {
  const rig = sawTooth({ days: 3, tempC: -4 })
  const hangar: Reading[] = []
  for (let atS = DAY_ZERO_S + 150; atS <= DAY_ZERO_S + 30 * DAY; atS += 300) {
    const tempC = Math.min(10, -4 + (atS - DAY_ZERO_S) / DAY / 2)
    hangar.push({ atS, place: 'ambient', humidityPct: 70, tempC, pumpOn: null, powerW: null })
  }
  const readings = [...rig, ...hangar].sort((a, b) => a.atS - b.atS)
  const log = [{ atS: DAY_ZERO_S + 3 * DAY, what: 'off', detail: {} }]
  const inputs = { readings, log, settings: [{ fromS: 0, settings: SETTINGS }] }
  const { events, memory } = advance(newMemory(DAY_ZERO_S), inputs, DAY_ZERO_S + 30 * DAY)
  expect(memory.metal.tempC).toBeCloseTo(10, 0)
  expect(events.map(({ rule }) => rule)).toEqual([])
})

test('a thermometer in the hangar that tells no humidity says how cold the metal is', () => {
  const rig = sawTooth({ days: 3 }).map((reading) => Object.assign({}, reading, { tempC: null }))
  const hangar = rig.map(({ atS }): Reading => ({
    atS: atS + 1,
    place: 'ambient',
    humidityPct: null,
    tempC: 2,
    pumpOn: null,
    powerW: null,
  }))
  const readings = [...rig, ...hangar].sort((a, b) => a.atS - b.atS)
  const inputs = { readings, log: [], settings: [{ fromS: 0, settings: SETTINGS }] }
  const { memory } = advance(newMemory(DAY_ZERO_S), inputs, DAY_ZERO_S + 3 * DAY)
  expect(memory.metal.tempC).toBeCloseTo(2, 1)
})
