import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import type { AlertEvent } from '../../../src/core/fold/outputs.ts'
import { alertExplanation } from '../../../src/core/words/alert-words.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAY = 24 * HOUR

const at = (day: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS: DAY_ZERO_S + day * DAY,
  what,
  detail,
})

/** The pump is kept on from a day on, and the air settles; the saw-tooth goes on after it. */
function withCheck(readings: readonly Reading[], day: number, settlesPct: number): Reading[] {
  const fromS = DAY_ZERO_S + day * DAY
  return readings.map((reading) => {
    const hours = (reading.atS - fromS) / HOUR
    if (hours < 0 || hours > 4.1) return reading
    const humidityPct = settlesPct + 6 * Math.exp(-2 * hours) + 0.05 * Math.sin(reading.atS)
    return { ...reading, humidityPct: Math.round(100 * humidityPct) / 100, pumpOn: true }
  })
}

function risen(readings: readonly Reading[], log: readonly LogEntry[], days: number): AlertEvent {
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const { events } = advance(newMemory(DAY_ZERO_S), { readings, log, settings }, DAY_ZERO_S + days * DAY)
  const event = events.find(({ rule, event: kind }) => rule === 'floor-rising' && kind === 'raised')
  if (event === undefined) throw new Error('the floor has not risen')
  return event
}

describe('the cause of a risen floor', () => {
  test('is the sensor when a floor check is high the day after a full bake', () => {
    const readings = withCheck(sawTooth({ days: 4, noisePct: 0.1 }), 2, 5.9)
    const event = risen(readings, [at(0.1, 'bake', { tempC: '150' }), at(2, 'floor-check')], 4)
    expect(event.evidence['sensorShare']).toBeGreaterThan(0.8)
    expect(alertExplanation(event, { zone: 'UTC', tempUnit: 'degC' }).causes[0]).toMatch(
      /^The sensor reads high \(\d+ in 100\)\.$/u,
    )
  })

  test('is not to be told from runs alone on beads that have taken up little, and what would tell is said', () => {
    const readings = [
      ...sawTooth({ days: 20, floorPct: 0.5, noisePct: 0.1 }),
      ...sawTooth({ days: 30, floorPct: 5.85, noisePct: 0.1, from: DAY_ZERO_S + 20 * DAY + 300 }),
    ]
    const event = risen(readings, [at(0.1, 'bake')], 50)
    const shares = ['beadsShare', 'leakShare', 'suctionLeakShare', 'sensorShare'].map((name) =>
      Number(event.evidence[name]),
    )
    expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 2)
    expect(Math.max(...shares)).toBeLessThan(0.8)
    expect(event.evidence['beadsShare']).toBeLessThan(0.1)
    const { causes, decides } = alertExplanation(event, { zone: 'UTC', tempUnit: 'degC' })
    expect(causes[0]).toBe("Can't tell yet which of these it is.")
    expect(decides).toMatch(/loop test/u)
  })

  test('a loop test that reads dry leaves only leaks', () => {
    const base = [
      ...sawTooth({ days: 20, floorPct: 0.5, noisePct: 0.1 }),
      ...sawTooth({ days: 40, floorPct: 5.85, noisePct: 0.1, from: DAY_ZERO_S + 20 * DAY + 300 }),
    ]
    // At the beads' exit for a quarter of an hour, the day before the floor is told.
    const told = (risen(base, [at(0.1, 'bake')], 60).atS - DAY_ZERO_S) / DAY
    const testedDay = Math.floor(told - 1)
    const tested = base.map((reading) => {
      const intoS = reading.atS - DAY_ZERO_S - testedDay * DAY
      return intoS >= 0 && intoS <= 900 ? { ...reading, humidityPct: 1.5, pumpOn: true } : reading
    })
    const before = risen(base, [at(0.1, 'bake')], 60).evidence
    const after = risen(tested, [at(0.1, 'bake'), at(testedDay, 'loop-test')], 60).evidence
    expect(after['sensorShare']).toBeLessThan(0.5 * Number(before['sensorShare']))
    expect(Number(after['leakShare']) + Number(after['suctionLeakShare'])).toBeGreaterThan(0.8)
  })
})
