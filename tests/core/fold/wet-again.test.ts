import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const LANDED_S = DAY_ZERO_S + 6 * 24 * HOUR + HOUR
const BACK_S = LANDED_S + HOUR

/**
 * The air `hours` after the rig came back: a plateau of three hours, down to `stop` in two, and then the water that is left
 * wets the resting air within the hour; the outlet never starts again.
 */
function airPct(hours: number): number {
  if (hours < 0.25) return 20 + 300 * hours
  if (hours < 3) return 95
  if (hours < 5) return 6 + 89 * Math.exp(-1.8 * (hours - 3))
  return 50 - 42 * Math.exp(-2 * (hours - 5))
}

test('what a wet engine gives off again once its pump rests is no rig taken off: the outlet that does not start is told', () => {
  const readings: Reading[] = sawTooth({ days: 6, noisePct: 0.1 })
  for (let atS = BACK_S; atS <= BACK_S + 13 * HOUR; atS += 300) {
    const hours = (atS - BACK_S) / HOUR
    const humidityPct = Math.round(100 * (airPct(hours) + 0.1 * ((atS / 300) % 2))) / 100
    readings.push({ atS, place: 'return', humidityPct, tempC: 15, pumpOn: hours < 5, powerW: null })
  }
  const log = [
    { atS: LANDED_S, what: 'flight' as const, detail: { hours: '1' } },
    { atS: BACK_S, what: 'on' as const, detail: {} },
  ]
  const untilS = BACK_S + 12 * HOUR
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, untilS)
  const idle = events.find(({ event, rule }) => event === 'raised' && rule === 'wet-and-idle')
  expect(idle).toBeDefined()
  expect((idle?.atS ?? Infinity) - (BACK_S + 5 * HOUR)).toBeLessThanOrEqual(6 * HOUR)
})
