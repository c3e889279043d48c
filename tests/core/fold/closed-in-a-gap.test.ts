import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, inputsOf, sawTooth } from './saw-tooth.ts'

/**
 * Hours from a run that draws the hangar in until it is told `now`. The hub was silent for 80 minutes of the rest before, and
 * its first reading after that was `afterPct`, or what the box had climbed to.
 */
function toldAfterH(afterPct: number | null): number | null {
  const rig = sawTooth({ days: 20 }).map((reading) => Object.assign({}, reading, { tempC: null }))
  const from = rig.findIndex(({ humidityPct, pumpOn }, index) => {
    return index > 15 * 288 && pumpOn === false && (humidityPct ?? 0) >= 14.5
  })
  const startS = (rig[from]?.atS ?? 0) + 300
  const heard = rig.slice(0, from + 1).filter(({ atS }) => atS < startS - 6000 || atS >= startS - 1200)
  const opened = heard.findIndex(({ atS }) => atS >= startS - 1200)
  const first = heard[opened]
  if (first !== undefined && afterPct !== null) heard[opened] = { ...first, humidityPct: afterPct }
  const hangar = Array.from({ length: 60 }, (_, index): Reading => {
    const humidityPct = 62 + 0.2 * (index % 2)
    return {
      atS: startS + 300 * index,
      place: 'return',
      humidityPct,
      tempC: null,
      pumpOn: true,
      powerW: null,
    }
  })
  const { events } = advance(newMemory(DAY_ZERO_S), inputsOf([...heard, ...hangar]), startS + 5 * 3600)
  const told = events.find(({ urgency, event }) => urgency === 'now' && event === 'raised')
  return told === undefined ? null : (told.atS - startS) / 3600
}

test('a box that is as dry after a gap as before was not opened in it: a loop that comes open then is no flight', () => {
  expect(toldAfterH(null) ?? 9).toBeLessThan(3)
})

test('where the box read of the hangar after the gap it may have been a flight, and the plateau its water', () => {
  expect(toldAfterH(30)).toBeNull()
})
