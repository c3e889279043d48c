import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600

/**
 * Rules raised in the five hours after the air of a rig whose pump nobody reports leapt from well below `start` to 47 %, half an hour after
 * which nothing was heard for `gapH`.
 */
function raised(gapH: number): string[] {
  const all = sawTooth({ days: 6, noisePct: 0.1, basis: 'inferred' })
  const offAt = all.findLastIndex(({ humidityPct }, index) => {
    const before = all[index - 12]?.humidityPct ?? null
    return humidityPct !== null && before !== null && humidityPct > before && humidityPct < 10
  })
  const readings = all.slice(0, offAt + 1)
  const offS = readings.at(-1)?.atS ?? 0
  for (let atS = offS + 300; atS <= offS + 5 * HOUR; atS += 300) {
    const hours = (atS - offS) / HOUR
    if (hours > 0.5 && hours <= 0.5 + gapH) continue
    const humidityPct = 47 + 0.1 * ((atS / 300) % 2)
    const reading: Reading = { atS, place: 'return', humidityPct, tempC: 15, pumpOn: null, powerW: null }
    readings.push(reading)
  }
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events } = advance(newMemory(DAY_ZERO_S), { readings, log: [], settings }, offS + 5 * HOUR)
  return events.filter(({ event, atS }) => event === 'raised' && atS > offS).map(({ rule }) => rule)
}

test('a rig that was taken off by hands is off over a gap as well', () => {
  expect(raised(0)).toEqual([])
  expect(raised(1.5)).toEqual([])
})
