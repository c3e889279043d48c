import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAYS = 5
const MIN = 60

/**
 * A rig that was back on and had dried down to 6.5 % and less when its flight was entered, with the time of the entry; an hour later it
 * is at `endPct`, where the outlet stops the pump, and rests.
 */
function openRules(endPct: number): string[] {
  const before = sawTooth({ days: DAYS }).filter(({ atS }) => atS <= DAY_ZERO_S + DAYS * 86_400 - 300)
  const fromS = before.at(-1)?.atS ?? 0
  const enteredS = fromS + 120 * MIN
  const after: Reading[] = Array.from({ length: 48 * 12 }, (_, index) => {
    const minute = 5 * (index + 1)
    const drying = 5.5 + 40 * Math.exp(-minute / 30)
    return {
      atS: fromS + minute * MIN,
      place: 'return',
      humidityPct: minute <= 180 ? Math.max(endPct, drying) : endPct + 0.002 * (minute - 180),
      tempC: 15,
      pumpOn: minute < 180,
      powerW: null,
    }
  })
  const log = [{ atS: enteredS, what: 'flight' as const, detail: {} }]
  const inputs = { readings: [...before, ...after], log, settings: [{ fromS: 0, settings: SETTINGS }] }
  const { memory } = advance(newMemory(DAY_ZERO_S - 300), inputs, fromS + 45 * 3600)
  return memory.rules.open.map(({ rule }) => rule)
}

test('a run that comes down to stop answers a flight, though it had done most of its work when that was entered', () => {
  expect(openRules(6)).not.toContain('left-off')
  expect(openRules(6.6)).toContain('left-off')
})
