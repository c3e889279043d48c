import { expect, test } from 'vitest'
import type { Cycle } from '../../../src/core/fold/outputs.ts'
import { CYCLE, HOUR_S, Line } from './moment.ts'

/** A run that carries out this much for each rest of eight hours at one litre an hour, min. */
const MIN_PER_L_PER_H = 40

/**
 * One closed cycle every eight hours that took in `ingress` L/h of hangar air: the pump runs that much longer, and rests
 * that much shorter, but for what the temperature makes it do anyway.
 */
function rests(line: Line, ingress: readonly number[], more: Partial<Cycle> = {}): void {
  for (const litresPerH of ingress) {
    line.forHours(8 - 1 / 12, (h) => ({ pct: 10 + (h % 1) }))
    const times = Math.max(1, litresPerH / 0.6)
    const runMin = Math.max(5, MIN_PER_L_PER_H * litresPerH)
    const cycles = Math.round(Math.min(4, times))
    const closed = Array.from({ length: cycles }, (_, i) => ({
      ...CYCLE,
      ...more,
      atS: line.atS + 300 + i,
      runFromS: line.atS - 8 * HOUR_S,
      runToS: line.atS - 7 * HOUR_S,
      runMin: runMin / cycles,
      restMin: (480 - runMin) / cycles,
      peakPct: 15,
      endPct: 6,
    }))
    line.step({ pct: 10, with: { closed } })
  }
}

/** A rig's own scatter: x/ 1.5 or so, the same every time. */
const usual = (count: number, factor = 1): number[] =>
  Array.from({ length: count }, (_, i) => factor * 0.6 * Math.exp(0.4 * Math.sin(2.4 * i + 0.7)))

function learned(base = {}): Line {
  const line = new Line({ settings: { ...new Line().moment.settings, volumeL: 30 }, ...base })
  rests(line, usual(20))
  return line
}

test('usual scatter is no leak', () => {
  const line = learned()
  rests(line, usual(120))
  expect(line.events).toEqual([])
})

test('twice the usual, as a season or a wrong climate brings, is no leak', () => {
  const line = learned()
  rests(line, usual(60, 2))
  expect(line.events).toEqual([])
})

test('five times the usual is told within three days, with its factor', () => {
  const line = learned()
  const fromS = line.atS
  rests(line, usual(9, 5))
  expect(line.open.map((a) => a.rule)).toEqual(['leak'])
  expect((line.events[0]?.atS ?? Infinity) - fromS).toBeLessThanOrEqual(72 * HOUR_S)
  expect(line.events[0]?.evidence['days']).toBeGreaterThanOrEqual(2)
})

test('one odd day is not enough', () => {
  const line = learned()
  rests(line, [...usual(3, 9), ...usual(9), ...usual(3, 9), ...usual(9)])
  expect(line.events).toEqual([])
})

test('the first five days after a flight tell nothing about the seal', () => {
  const line = learned()
  rests(line, usual(12, 8), { daysSinceFlight: 2 })
  expect(line.events).toEqual([])
})

test('nor does the day after a preheat', () => {
  const line = learned()
  line.moment = { ...line.moment, preheatAtS: line.atS }
  rests(line, usual(2, 9))
  expect(line.events).toEqual([])
})

test('it is one alert, over only when the chart is back at zero', () => {
  const line = learned()
  rests(line, [...usual(9, 6), 0.6, ...usual(2, 6), ...usual(24)])
  expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
})

test('a loop that takes in more than any closed one was never sealed, from the first days on', () => {
  const line = new Line()
  rests(line, usual(9, 11))
  expect(line.open[0]).toMatchObject({ rule: 'leak', evidence: { by: 'never sealed' } })
})

test('before five days the rig own ingress is unknown, and it says so', () => {
  const line = new Line()
  rests(line, usual(4))
  expect(line.memory.unknown.find((u) => u.what === 'leak')?.why).toContain('5 days')
})

test('no ingress at all neither raises nor breaks anything', () => {
  const line = learned()
  rests(line, [0, 0, ...usual(5), 0])
  expect(line.events).toEqual([])
})

test('it takes over a rising floor and keeps it away while it is open', () => {
  const line = learned({ runTimeRatio: 2.5 })
  expect(line.isOpen('floor-rising')).toBe(true)
  rests(line, usual(9, 6))
  expect(line.open.map((a) => a.rule)).toEqual(['leak'])
  expect(line.events.filter((e) => e.rule === 'floor-rising').map((e) => e.event)).toEqual(['raised', 'over'])
})
