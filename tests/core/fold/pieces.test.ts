import { assert, integer, property, uniqueArray } from 'fast-check'
import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Inputs, LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory, packMemory } from '../../../src/core/fold/memory.ts'
import { every, inPieces, slice } from './in-pieces.ts'
import { DAY_ZERO_S, inputsOf, sawTooth, seeded, SETTINGS } from './saw-tooth.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/** Two weeks with everything in them: noise, a flight and its plateau, a gap, a bake, a stretch off, a floor check, an ambient sensor. */
function story(): Inputs {
  const random = seeded(11)
  const readings: Reading[] = []
  for (const reading of sawTooth({ days: 14, noisePct: 0.3, stepPct: 0.1 })) {
    const dayAt = (reading.atS - DAY_ZERO_S) / DAY_S
    if (dayAt > 3.2 && dayAt < 3.6) continue
    const isPlateau = dayAt > 6 && dayAt < 6.4
    const isFlat = dayAt > 9.5 && dayAt < 10.5
    const isChecked = dayAt > 11 && dayAt < 11.2
    if (isPlateau) readings.push({ ...reading, humidityPct: 97, pumpOn: true })
    else if (isFlat) readings.push({ ...reading, humidityPct: 14, pumpOn: true })
    else if (isChecked) readings.push({ ...reading, humidityPct: 5.8 + 0.02 * random(), pumpOn: true })
    else readings.push({ ...reading, tempC: random() < 0.3 ? null : 12 + 4 * Math.sin(dayAt * 6.28) })
    if (random() < 0.1) {
      readings.push({
        atS: reading.atS + 7,
        place: 'ambient',
        humidityPct: 70,
        tempC: 9,
        pumpOn: null,
        powerW: null,
      })
    }
  }
  const log: LogEntry[] = [
    { atS: DAY_ZERO_S + HOUR_S, what: 'bake', detail: { tempC: '120', jar: 'a' } },
    { atS: DAY_ZERO_S + 5.9 * DAY_S, what: 'flight', detail: { hours: '1.2' } },
    { atS: DAY_ZERO_S + 5.95 * DAY_S, what: 'on', detail: {} },
    { atS: DAY_ZERO_S + 8 * DAY_S + 11, what: 'off', detail: {} },
    { atS: DAY_ZERO_S + 8.1 * DAY_S, what: 'on', detail: {} },
    { atS: DAY_ZERO_S + 11 * DAY_S, what: 'floor-check', detail: {} },
  ]
  const band = { startPct: 16, stopPct: 6 }
  return {
    ...inputsOf(readings, log),
    settings: [
      { fromS: 0, settings: SETTINGS },
      { fromS: DAY_ZERO_S + 12 * DAY_S + 17, settings: { ...SETTINGS, band } },
    ],
  }
}

describe('the fold is the same in one piece and in many', () => {
  const inputs = story()
  const endS = DAY_ZERO_S + 14 * DAY_S
  const whole = inPieces(inputs, DAY_ZERO_S, [endS])

  test('the story has something to tell', () => {
    expect(whole.cycles.length).toBeGreaterThan(8)
    expect(whole.events.map(({ rule, event }) => `${rule} ${event}`)).toContain('no-drop raised')
    expect(whole.rollups.length).toBeGreaterThan(300)
    expect(whole.exposureDays).toHaveLength(13)
  })

  test('hour by hour', () =>
    expect(inPieces(inputs, DAY_ZERO_S, every(HOUR_S, DAY_ZERO_S, endS))).toEqual(whole))
  test('tick by tick', () =>
    expect(inPieces(inputs, DAY_ZERO_S, every(300, DAY_ZERO_S, endS))).toEqual(whole))

  test('in pieces of any length, on and off the grid', () => {
    assert(
      property(uniqueArray(integer({ min: 1, max: 14 * DAY_S - 1 }), { maxLength: 40 }), (cuts) => {
        const ends = [...cuts.sort((a, b) => a - b).map((cut) => DAY_ZERO_S + cut), endS]
        expect(inPieces(inputs, DAY_ZERO_S, ends)).toEqual(whole)
      }),
      { numRuns: 15 },
    )
  })

  test('the memory given is not changed', () => {
    const memory = newMemory(DAY_ZERO_S)
    const before = packMemory(memory)
    advance(memory, slice(inputs, 0, endS, DAY_ZERO_S), endS)
    expect(packMemory(memory)).toBe(before)
  })
})
