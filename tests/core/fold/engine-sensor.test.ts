import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
const END_S = DAY_ZERO_S + DAYS * 24 * HOUR
const IN_ENGINE = [{ fromS: 0, settings: { ...SETTINGS, sensorSits: 'engine' as const } }]

const healthy = () =>
  advance(
    newMemory(DAY_ZERO_S),
    { readings: sawTooth({ days: DAYS, noisePct: 0.1 }), log: [], settings: IN_ENGINE },
    END_S - 5 * HOUR,
  ).memory

function reading(atS: number, humidityPct: number, tempC: number, pumpOn: boolean): Reading {
  return { atS, place: 'return', humidityPct, tempC, pumpOn, powerW: null }
}

/** Whether a plateau at -8 degC is still believed 45 hours after the hook-up. */
function isBelieved(humidityPct: number): boolean {
  const readings = Array.from({ length: 45 * 12 }, (_, index) => {
    const atS = END_S + 300 * (index + 1)
    const hangar = { ...reading(atS, 85, -8, false), place: 'ambient' as const, pumpOn: null }
    return [reading(atS, humidityPct + 0.1 * (index % 2), -8, true), hangar]
  }).flat()
  const log = [
    { atS: END_S - 4 * HOUR, what: 'flight' as const, detail: { hours: '1' } },
    { atS: END_S, what: 'on' as const, detail: {} },
  ]
  return advance(healthy(), { readings, log, settings: [] }, END_S + 45 * HOUR).memory.gate.isOpen
}

test('a plateau takes as long as its own air carries the water off, not as saturated air would', () => {
  // 10 g at 2.5 L/min and -8 degC: 25 h if saturated, 50 h at half of that.
  expect(isBelieved(95)).toBe(false)
  expect(isBelieved(50)).toBe(true)
})

test('a crankcase of 89 degC is an engine that runs, whether or not it is logged; one that a preheater warms is none', () => {
  const wetted = [89, 45].map((tempC) => {
    const readings = [reading(END_S, 3, tempC, false), reading(END_S + 300, 3, tempC, false)]
    const { gate } = advance(healthy(), { readings, log: [], settings: [] }, END_S + 600).memory
    return gate.wettedAtS
  })
  expect(wetted).toEqual([END_S + 300, null])
})
