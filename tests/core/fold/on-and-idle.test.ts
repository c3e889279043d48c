import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
const BACK_ON_S = DAY_ZERO_S + DAYS * 24 * HOUR

/** The air of a wet engine comes through the hoses, and the outlet does not start. */
const wetAndIdle: readonly Reading[] = Array.from({ length: 12 * 12 }, (_, index) => ({
  atS: BACK_ON_S + 300 * (index + 1),
  place: 'return' as const,
  humidityPct: Math.round(10 * (95 - 60 * Math.exp(-index / 6))) / 10,
  tempC: 15,
  pumpOn: false,
  powerW: null,
}))

/** Hours after hook-up at which the outlet is told. */
function toldAfterH(log: readonly LogEntry[]): number | null {
  const readings = [...sawTooth({ days: DAYS, noisePct: 0.1 }), ...wetAndIdle]
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, BACK_ON_S + 12 * HOUR)
  const told = events.find(({ rule, atS }) => rule === 'wet-and-idle' && atS > BACK_ON_S)
  return told === undefined ? null : (told.atS - BACK_ON_S) / HOUR
}

test("air that jumps after the rig was logged on is the engine's, and the outlet has to start; else the rig may be off", () => {
  const flight = { atS: BACK_ON_S - 2 * HOUR, what: 'flight' as const, detail: { hours: '1' } }
  const off = { atS: BACK_ON_S - 4 * HOUR, what: 'off' as const, detail: {} }
  const on = { atS: BACK_ON_S, what: 'on' as const, detail: {} }
  expect(toldAfterH([off, flight, on])).toBeLessThan(6)
  expect(toldAfterH([])).toBeNull()
})
