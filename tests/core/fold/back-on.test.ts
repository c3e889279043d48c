import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 10
const LANDED_S = DAY_ZERO_S + DAYS * 24 * HOUR + HOUR

/** After a landing the sensor hangs in a damp hangar for five hours, then reads `backPct`; no report of the pump. */
function afterLanding(backPct: number): Reading[] {
  return Array.from({ length: 12 * 12 }, (_, index) => {
    const atS = LANDED_S + 300 * (index + 1)
    const humidityPct = (index < 60 ? 74 : backPct) + 0.1 * (index % 2)
    const common = { atS, tempC: 6, powerW: null, pumpOn: null }
    return [
      { ...common, place: 'return' as const, humidityPct },
      { ...common, place: 'ambient' as const, humidityPct: 73 },
    ]
  }).flat()
}

function isAnswered(backPct: number, hours: number): boolean {
  const settings = [{ fromS: 0, settings: { ...SETTINGS, sensorSits: 'engine' as const } }]
  const healthy = sawTooth({ days: DAYS, noisePct: 0.1, tempC: 6, basis: 'inferred' })
  const log = [{ atS: LANDED_S, what: 'flight' as const, detail: { hours: '1' } }]
  const untilS = LANDED_S + hours * HOUR
  const readings = [...healthy, ...afterLanding(backPct)].filter(({ atS }) => atS <= untilS)
  const { memory } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, untilS)
  return memory.log.unansweredFlightAtS === null
}

test('air that stays wetter than the hangar measures is in an engine: the rig is back on, though nothing has dried yet', () => {
  expect(isAnswered(91, 7)).toBe(false)
  expect(isAnswered(91, 9)).toBe(true)
  expect(isAnswered(78, 12)).toBe(false)
})
