import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY = 86_400
const DEAD_DAY = 30
const PER_H = 0.005

/** An outlet that no longer starts: engine and box go to the hangar's 60 % at the rig's own ingress. */
function resting(fromPct: number): Reading[] {
  const fromS = DAY_ZERO_S + DEAD_DAY * DAY
  return Array.from({ length: 20 * 288 }, (_, index) => {
    const atS = fromS + 300 * (index + 1)
    const humidityPct = 60 - (60 - fromPct) * Math.exp((-PER_H * (atS - fromS)) / 3600)
    return {
      atS,
      place: 'return',
      humidityPct: Math.round(10 * humidityPct) / 10,
      tempC: 15,
      pumpOn: false,
      powerW: null,
    }
  })
}

test('nobody comes, and what is said of the metal goes up with what gets in', () => {
  const before = sawTooth({ days: DEAD_DAY, noisePct: 0.1, ingressPerH: PER_H })
  const readings = [...before, ...resting(before.at(-1)?.humidityPct ?? 0)]
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events, memory } = advance(
    newMemory(DAY_ZERO_S),
    { readings, log: [], settings },
    DAY_ZERO_S + (DEAD_DAY + 19) * DAY,
  )
  expect(events.map(({ rule, event, urgency }) => `${rule} ${event} ${urgency}`)).toEqual([
    'wet-and-idle raised visit',
    'wet-and-idle changed now',
  ])
  const [raised, changed] = events
  // Two days before the metal passes 40 %, at up to twice the rig's own ingress.
  expect(raised?.evidence['t40H']).toBeGreaterThan(48)
  expect(changed?.evidence['t40H']).toBeLessThan(48)
  // By the closed form of one mixed volume, 19 days on.
  const metalPct = memory.rules.open[0]?.evidence['metalPct']
  expect(metalPct).toBeGreaterThan(50)
  expect(metalPct).toBeLessThan(60)
})
