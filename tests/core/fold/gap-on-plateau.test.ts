import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 20
const BACK_ON_S = DAY_ZERO_S + DAYS * 24 * HOUR

/** After a flight the box is as wet as the engine, and the pump that should dry both is dead. */
function deadPlateau(hours: number, gapMin: number): Reading[] {
  const gapFromS = BACK_ON_S + 26 * HOUR
  return Array.from({ length: hours * 12 }, (_, index) => ({
    atS: BACK_ON_S + 300 * (index + 1),
    place: 'return' as const,
    humidityPct: 80 + 0.1 * (index % 2),
    tempC: 15,
    pumpOn: true,
    powerW: null,
  })).filter(({ atS }) => atS <= gapFromS || atS >= gapFromS + gapMin * 60)
}

/** Hours after hook-up at which the dead pump is told. */
function toldAfterH(gapMin: number): number | null {
  const readings = [...sawTooth({ days: DAYS, noisePct: 0.1 }), ...deadPlateau(72, gapMin)]
  const log = [
    { atS: BACK_ON_S - 4 * HOUR, what: 'flight' as const, detail: { hours: '1' } },
    { atS: BACK_ON_S, what: 'on' as const, detail: {} },
  ]
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, BACK_ON_S + 72 * HOUR)
  const told = events.find(({ rule, atS }) => rule === 'no-drop' && atS > BACK_ON_S)
  return told === undefined ? null : (told.atS - BACK_ON_S) / HOUR
}

test('a router that restarts does not begin the plateau anew; an outage in which somebody may have flown does', () => {
  const whole = toldAfterH(0) ?? Number.POSITIVE_INFINITY
  expect(whole).toBeGreaterThan(28)
  expect(whole).toBeLessThan(36)
  expect(toldAfterH(40)).toBeLessThan(whole + 2)
  // An hour from one reading to the next is 55 minutes that are missing.
  expect(toldAfterH(60)).toBeLessThan(whole + 2)
  expect(toldAfterH(120)).toBeGreaterThan(whole + 20)
})
