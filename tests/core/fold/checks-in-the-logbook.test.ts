import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Inputs, LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import type { Step } from '../../../src/core/fold/work.ts'
import { timestampText } from '../../../src/core/ingest/instant.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const FROM_S = DAY_ZERO_S + 10 * DAY

const at = (hours: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS: FROM_S + hours * HOUR,
  what,
  detail,
})
const until = (hours: number): string => timestampText(FROM_S + hours * HOUR)

/** Ten days of a rig in order, then readings of `pctAt` (hours since then) with the pump on, or off for `null`. */
function inputsOf(
  hours: number,
  log: readonly LogEntry[],
  pctAt: (hour: number) => number,
  pumpOn: boolean,
): Inputs {
  const readings: Reading[] = sawTooth({ days: 9.98, noisePct: 0.1 })
  for (let atS = FROM_S; atS <= FROM_S + hours * HOUR; atS += 300) {
    const humidityPct = pctAt((atS - FROM_S) / HOUR)
    readings.push({ atS, place: 'return', humidityPct, tempC: 25, pumpOn, powerW: null })
  }
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const all = [at(-239, 'bake'), ...log]
  return { readings, log: all, settings }
}

const after = (hours: number, ...of: [readonly LogEntry[], (hour: number) => number, boolean]): Step =>
  advance(newMemory(DAY_ZERO_S), inputsOf(hours, ...of), FROM_S + hours * HOUR)

/** 1 % high in lithium chloride, half a percent in magnesium chloride. */
const shown = (hour: number): number => (hour <= 12 ? 12.3 : 33.3)
const second = (hours: number): LogEntry =>
  at(hours, 'salt-check', { salt: 'MgCl2', until: until(hours + 12) })

describe('salt checks', () => {
  test.each([0, 2 / 60])('one may follow the other at once: %d hours later', (laterH) => {
    const log = [at(0, 'salt-check', { salt: 'LiCl', until: until(12) }), second(12 + laterH)]
    const { sensor } = after(25, log, shown, false).memory
    expect(sensor.points.map(({ shownPct }) => shownPct)).toEqual([
      expect.closeTo(12.3, 6),
      expect.closeTo(33.3, 6),
    ])
    expect(sensor.correction.kind).toBe('line')
  })

  test('one that was entered to last longer ends with the next', () => {
    const detail = { salt: 'LiCl', until: until(20), shownPct: '12.3', tempC: '25' }
    const { sensor } = after(25, [at(0, 'salt-check', detail), second(12)], shown, false).memory
    expect(sensor.correction.kind).toBe('line')
  })

  test.each([12, 12 + 2 / 60])(
    'correct the sensor that was in the pot, not the one put in at %d h',
    (hours) => {
      const log = [
        at(0, 'salt-check', { salt: 'LiCl', until: until(12) }),
        at(hours, 'sensor', { change: 'replaced' }),
      ]
      const { sensor } = after(14, log, shown, false).memory
      expect(sensor.points).toEqual([])
      expect(sensor.correction.kind).toBe('none')
    },
  )

  test('say nothing of a sensor that came in their midst', () => {
    const detail = { salt: 'LiCl', until: until(12), shownPct: '12.3', tempC: '25' }
    const log = [at(0, 'salt-check', detail), at(11, 'sensor', { change: 'replaced' })]
    const { sensor } = after(14, log, shown, false).memory
    expect(sensor.points).toEqual([])
    expect(sensor.refusal).toBe('too_short')
  })
})

const check = (hours = 4): LogEntry => at(0, 'floor-check', { until: until(hours) })
const told = ({ events }: Step): string[] => events.map(({ rule, event }) => `${rule} ${event}`)

describe('a floor check that ends too wet', () => {
  test('is none where nobody heard the pump', () => {
    const { readings, ...inputs } = inputsOf(5, [check()], () => 9, true)
    const heard = readings.filter(({ atS }) => atS < FROM_S || atS > FROM_S + 3.4 * HOUR)
    const { memory } = advance(newMemory(DAY_ZERO_S), { ...inputs, readings: heard }, FROM_S + 5 * HOUR)
    expect(memory.lastFloorCheck).toBeNull()
  })

  test('is of the beads that were in the column', () => {
    const step = after(5, [check()], () => 9, true)
    expect(told(step)).toContain('beads-spent raised')
    expect(step.memory.lastFloorCheck?.pct).toBeCloseTo(9, 6)
  })

  test.each([
    [4, 4],
    [4 + 1 / 60, 4 + 2 / 60],
  ])('at %d h says nothing of those put in at %d h', (endH, hours) => {
    const step = after(5, [check(endH), at(hours, 'beads')], () => 9, true)
    const { memory } = step
    expect(told(step)).not.toContain('beads-spent raised')
    expect(memory.beads.fill?.ensemble?.evidence).toEqual({})
    expect(memory.lastFloorCheck?.pct).toBeCloseTo(9, 6)
  })

  test('has seen none of those put in before its end', () => {
    const { memory } = after(5, [check(), at(3, 'beads')], (hour) => (hour <= 3 ? 9 : 3), true)
    expect(memory.lastFloorCheck).toBeNull()
    expect(memory.beads.fill?.ensemble?.evidence).toEqual({})
  })
})
