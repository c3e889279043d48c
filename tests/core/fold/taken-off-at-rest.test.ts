import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, inputsOf, sawTooth } from './saw-tooth.ts'

const HOUR = 3600

/** Hours from `fromPct` on the way up to the last post of hangar air until something is raised `now`; `null`: nothing is. */
function toldAfterH(basis: 'reported' | 'inferred', fromPct: number, hours: number): number | null {
  const rig = sawTooth({ days: 20, basis, noisePct: 0.1 })
  const from = rig.findIndex((reading, index) => {
    const before = rig[index - 1]?.humidityPct ?? 100
    const humidityPct = reading.humidityPct ?? 0
    return index > 15 * 288 && before < humidityPct && humidityPct >= fromPct && humidityPct < fromPct + 1
  })
  const jumpS = rig[from]?.atS ?? 0
  // A sensor that is drawn out of its box has the hangar's air within minutes.
  const hangar = Array.from({ length: hours * 12 }, (_, index): Reading => {
    const pumpOn = basis === 'reported' ? true : null
    const humidityPct = index === 0 ? 48 : 62 + 0.2 * (index % 2)
    return { atS: jumpS + 300 * (index + 1), place: 'return', humidityPct, tempC: 15, pumpOn, powerW: null }
  })
  const readings = [...rig.slice(0, from + 1), ...hangar]
  const toS = hangar.at(-1)?.atS ?? 0
  const { events } = advance(newMemory(DAY_ZERO_S), inputsOf(readings), toS)
  const told = events.find(({ urgency, event }) => urgency === 'now' && event === 'raised')
  return told === undefined ? null : (told.atS - jumpS) / HOUR
}

test('a rig that is taken off at rest is no loop that came open, though its air jumps as fast', () => {
  expect(toldAfterH('inferred', 11, 5)).toBeNull()
})

test('where an outlet is on for it, it is told within three hours, and not before a flight may be over', () => {
  const hours = toldAfterH('reported', 11, 5) ?? 0
  expect(hours).toBeGreaterThan(2.7)
  expect(hours).toBeLessThan(3)
})

test.each(['inferred', 'reported'] as const)(
  'a run that begins at the limit and draws the hangar in is told as before: %s',
  (basis) => {
    const hours = toldAfterH(basis, 14.5, 5) ?? 9
    expect(hours).toBeLessThan(2.2)
  },
)
