import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600

/** A rig in order up to the middle of a run, and when that was, s. */
function untilMidRun(): { readings: Reading[]; offS: number } {
  const all = sawTooth({ days: 6, noisePct: 0.1 })
  const index = all.findLastIndex(
    ({ pumpOn, humidityPct }) => pumpOn === true && humidityPct !== null && humidityPct < 11,
  )
  const last = all[index]
  if (last === undefined) throw new Error('no run')
  return { readings: all.slice(0, index + 1), offS: last.atS }
}

/**
 * Rules raised in the half day after the pump stopped at `offS`, with the air that `pctAt` gives so many hours later; the
 * outlet reports it `lateS` later.
 */
function raised(pctAt: (hours: number) => number, lateS = 0): string[] {
  const { readings, offS } = untilMidRun()
  for (let atS = offS + 300; atS <= offS + 12 * HOUR; atS += 300) {
    const humidityPct = Math.round(100 * (pctAt((atS - offS) / HOUR) + 0.1 * ((atS / 300) % 2))) / 100
    readings.push({ atS, place: 'return', humidityPct, tempC: 15, pumpOn: atS <= offS + lateS, powerW: null })
  }
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events } = advance(newMemory(DAY_ZERO_S), { readings, log: [], settings }, offS + 12 * HOUR)
  return events.filter(({ event }) => event === 'raised').map(({ rule }) => rule)
}

test('a rig that is taken off in the middle of a run shows the leap of the air with its first reading at rest', () => {
  expect(raised(() => 62)).toEqual([])
})

test('and with its first after the outlet has reported, ten minutes late', () => {
  expect(raised(() => 62, 600)).toEqual([])
})

test('an outlet that gives up in the middle of a run is no such thing: its air creeps to the limit', () => {
  expect(raised((hours) => 11 + 1.6 * hours)).toContain('wet-and-idle')
})
