import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
const BACK_ON_S = DAY_ZERO_S + DAYS * 24 * HOUR

/** The air of a wet engine in the frost, of a rig whose hub does not report its pump. */
function plateau(hours: number): Reading[] {
  return Array.from({ length: hours * 12 }, (_, index) => ({
    atS: BACK_ON_S + 300 * (index + 1),
    place: 'return' as const,
    humidityPct: 85 + 0.1 * (index % 2),
    tempC: -5,
    pumpOn: null,
    powerW: null,
  }))
}

function waterCarriedG(hours: number): number {
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const healthy = sawTooth({ days: DAYS, noisePct: 0.1, tempC: -5, basis: 'inferred' })
  const log = [
    { atS: BACK_ON_S - 4 * HOUR, what: 'flight' as const, detail: { hours: '1' } },
    { atS: BACK_ON_S, what: 'on' as const, detail: {} },
  ]
  const readings = [...healthy, ...plateau(hours)]
  const { memory } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, BACK_ON_S + hours * HOUR)
  return memory.gate.movedG
}

test("how long a plateau is believed does not wait for a ledger that is in doubt whether its air is an engine's", () => {
  // 2.5 L/min of air with 2.8 g/m3: 0.42 g an hour, before and after the two days for which an entry vouches for it.
  const [atTwoDays = 0, atThreeDays = 0] = [46, 70].map(waterCarriedG)
  expect(atThreeDays - atTwoDays).toBeCloseTo(24 * 0.42, 0)
})
