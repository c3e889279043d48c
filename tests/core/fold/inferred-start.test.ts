import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { startPointPct } from '../../../src/core/trace/switching.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAYS = 12
const HOUR = 3600

/**
 * A rig whose pump nobody reports, and whose outlet starts it at 15 %; then the air lies at `pct` for half a day, as over a dead
 * pump, but for one reading after two hours.
 */
function ruleAfter(pct: number, oncePct = pct): string[] {
  const healthy = sawTooth({ days: DAYS, noisePct: 0.05, basis: 'inferred' })
  const fromS = healthy.at(-1)?.atS ?? 0
  const lying: Reading[] = Array.from({ length: 12 * 12 }, (_, index) => ({
    atS: fromS + 300 * (index + 1),
    place: 'return',
    humidityPct: (index === 24 ? oncePct : pct) + 0.05 * (index % 2),
    tempC: 15,
    pumpOn: null,
    powerW: null,
  }))
  const inputs = { readings: [...healthy, ...lying], log: [], settings: [{ fromS: 0, settings: SETTINGS }] }
  return advance(newMemory(DAY_ZERO_S - 300), inputs, fromS + 12 * HOUR).events.map(({ rule }) => rule)
}

test('an outlet that always started at its limit has started a pump that is dead, within the tolerance as well', () => {
  expect(ruleAfter(15.7)).toContain('no-drop')
  expect(ruleAfter(14.7)).not.toContain('no-drop')
})

test('one reading above its limit, in air that stands below, is the noise of a sensor whose outlet looks at other times', () => {
  expect(ruleAfter(14.7, 15.5)).not.toContain('no-drop')
})

test('what is learned of the start does not sink from run to run: a run inferred at the learned start teaches no air before it', () => {
  const readings = sawTooth({ days: 30, noisePct: 0.05, basis: 'inferred' })
  const inputs = { readings, log: [], settings: [{ fromS: 0, settings: SETTINGS }] }
  const { memory } = advance(newMemory(DAY_ZERO_S - 300), inputs, readings.at(-1)?.atS ?? 0)
  expect(Math.abs(startPointPct(memory.switching, 0) - 15)).toBeLessThan(0.2)
})
