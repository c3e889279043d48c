import { describe, expect, test } from 'vitest'
import type { Forecast } from '../../../src/core/fold/outputs.ts'
import { CYCLE, DAY_S, Line, timeline, type Step } from './moment.ts'

const left = (low: number, mid: number, high: number) => ({ low, mid, high })

function forecastOf(more: Partial<Forecast>): Forecast {
  return {
    takenUpG: left(90, 100, 112),
    capacityG: left(110, 180, 260),
    flightsLeft: null,
    daysLeft: null,
    emptyAtS: null,
    noFlightsUntilS: null,
    ...more,
  }
}

describe('beads about to be used up', () => {
  const letters: Readonly<Record<string, Step>> = {
    p: { pct: 10, with: { fillFromS: 1, forecast: forecastOf({ flightsLeft: left(4, 7, 12) }) } },
    w: { pct: 10, with: { fillFromS: 1, forecast: forecastOf({ flightsLeft: left(0.2, 4, 9) }) } },
    s: { pct: 10, with: { fillFromS: 1, forecast: forecastOf({ flightsLeft: left(0.4, 1.8, 4) }) } },
    m: { pct: 10, with: { fillFromS: 1, forecast: forecastOf({ flightsLeft: left(0.8, 2.6, 4) }) } },
    d: { pct: 10, with: { fillFromS: 1, forecast: forecastOf({ daysLeft: left(3, 12, 30) }) } },
    _: {},
  }

  test.each([
    ['a flight or less at the low edge and under three in the middle', 'pps', '..o'],
    ['a middle of two and a half is a flight ahead, not too early', 'ppm', '..o'],
    ['a wide forecast alone is no warning', 'pww', '...'],
    ['days count where no flights are logged', 'pdd', '.oo'],
    ['it stays until there is clearly room again', 'psswwpp', '.oooo..'],
    ['a gap does not end it', 's____s', 'oooooo'],
  ])('%s', (_, seen, states) => {
    expect(timeline(new Line(), 'beads-spent', seen, letters)).toBe(states)
  })

  test('an alert that stands says the numbers of its day, and tells nobody again', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 's', letters)
    const now = forecastOf({ takenUpG: left(150, 160, 170), flightsLeft: left(0, 0.3, 1) })
    line.forHours(25, { pct: 10, with: { fillFromS: 1, forecast: now } })
    expect(line.memory.open.find(({ rule }) => rule === 'beads-spent')?.evidence).toMatchObject({
      takenUpG: 160,
      flightsLeftMid: 0.3,
    })
    expect(line.events.map((e) => e.event)).toEqual(['raised'])
  })

  test('a new fill ends it at once', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 'ss', letters)
    line.step({ pct: 10, with: { fillFromS: line.atS + 300, forecast: null } })
    expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
    expect(line.events[1]?.evidence['endedBy']).toBe('new fill')
  })

  test('metal over 40 % for a day makes it urgent', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 's', letters)
    const fromS = line.atS
    line.forHours(30, { pct: 20, pump: 'unknown', with: { metalPct: 45 } })
    expect(line.story(fromS).findLast((e) => e.includes('beads-spent'))).toBe('24.1 changed beads-spent now')
  })

  test('wet metal in the days after a flight is the flight, whatever the beads', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 's', letters)
    line.forHours(72, { pct: 20, pump: 'unknown', with: { metalPct: 45, wettedAtS: line.atS } })
    expect(line.events.map((e) => `${e.event} ${e.urgency}`)).toEqual(['raised visit'])
  })

  test('what was urgent once stays so until there are other beads', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 's', letters)
    line.forHours(30, { pct: 20, pump: 'unknown', with: { metalPct: 45 } })
    line.forHours(30, { pct: 12, pump: 'unknown', with: { metalPct: 20 } })
    line.forHours(30, { pct: 20, pump: 'unknown', with: { metalPct: 45 } })
    const told = line.events.filter((e) => e.rule === 'beads-spent').map((e) => `${e.event} ${e.urgency}`)
    expect(told).toEqual(['raised visit', 'changed now'])
  })

  test('a sensor beside the beads tells exit air at stop, without any ledger', () => {
    const line = new Line()
    line.forHours(1.2, { pct: 12, pump: 'run', others: [{ place: 'supply', humidityPct: 2 }] })
    expect(line.events).toEqual([])
    line.forHours(0.5, { pct: 9, pump: 'run', others: [{ place: 'supply', humidityPct: 7 }] })
    expect(line.open.map((a) => a.rule)).toEqual(['beads-spent'])
    expect(line.open[0]?.evidence).toMatchObject({ by: 'supply', supplyPct: 7 })
  })

  test('damp air that stood in the column is not the beads: the first hour of a run does not count', () => {
    const line = new Line()
    line.forHours(0.9, { pct: 12, pump: 'run', others: [{ place: 'supply', humidityPct: 12 }] })
    expect(line.events).toEqual([])
  })

  test('a fill already running when first seen has no forecast, and the rule says why', () => {
    const line = new Line()
    line.forHours(1, { pct: 10 })
    expect(line.memory.unknown.find((u) => u.what === 'beads-spent')?.why).toContain('already in use')
    line.forHours(1, { pct: 10, with: { fillFromS: line.atS } })
    expect(line.memory.unknown.find((u) => u.what === 'beads-spent')?.why).toContain(
      'bead mass, volume or flow',
    )
  })

  test('takes over the rising floor', () => {
    const line = new Line({ runTimeRatio: 2.4 })
    line.step({ pct: 10, with: { closed: [CYCLE] } })
    expect(line.isOpen('floor-rising')).toBe(true)
    timeline(line, 'beads-spent', 'ss', letters)
    line.step({ pct: 10, with: { closed: [CYCLE] } })
    expect(line.open.map((a) => a.rule)).toEqual(['beads-spent'])
    expect(line.events[1]).toMatchObject({ event: 'over', rule: 'floor-rising' })
    expect(line.events[1]?.evidence['takenOverBy']).toBe('beads-spent')
  })
})

const cycle = (runTimeRatio: number | null): Step => ({ pct: 10, with: { runTimeRatio, closed: [CYCLE] } })

describe('a rising floor', () => {
  const letters: Readonly<Record<string, Step>> = {
    a: cycle(1.1),
    b: cycle(1.9),
    c: cycle(2.4),
    n: cycle(null),
    q: { pct: 10 },
    _: {},
  }

  test.each([
    ['is said above 2.2', 'abc', '..o'],
    ['is one alert while the ratio hovers, over below 1.6', 'cbcba', 'oooo.'],
    ['is judged when a cycle closes', 'cqqq', 'oooo'],
    ['cannot be told without 8 runs', 'nnn', '...'],
    ['lack of data does not end it', 'cn____', 'oooooo'],
  ])('%s', (_, seen, states) => {
    expect(timeline(new Line(), 'floor-rising', seen, letters, 5)).toBe(states)
  })

  test.each([
    ['exit air near stop', { mid: 6.8, se: 0.6 }, true],
    ['fresh beads', { mid: 3, se: 0.6 }, false],
    ['a sensor whose error could explain it', { mid: 6.8, se: 2.5 }, false],
  ])('a floor check tells: %s', (_, floorCheckPct, isRaised) => {
    const line = new Line()
    line.step({ pct: 8, with: { floorCheckPct } })
    expect(line.isOpen('floor-rising')).toBe(isRaised)
  })

  test('two days of long runs at the edge of a window are none, four are one', () => {
    const told = [2, 4].map((days) => {
      const line = new Line()
      for (let i = 0; i < 3 * days; i++) {
        line.forHours(8, { pct: 10 })
        line.step({ pct: 10, with: { runTimeRatio: 2.4, closed: [{ ...CYCLE, runFromS: line.atS }] } })
      }
      line.step({ pct: 10, with: { runTimeRatio: 1.4, closed: [{ ...CYCLE, runFromS: line.atS }] } })
      return line.events.map((e) => `${e.event} ${e.rule}`)
    })
    expect(told).toEqual([[], ['raised floor-rising', 'over floor-rising']])
  })

  test('new beads end it', () => {
    const line = new Line({ runTimeRatio: 2.4 })
    line.step({ pct: 10, with: { closed: [CYCLE] } })
    line.step({ pct: 10, with: { fillFromS: line.atS + DAY_S, runTimeRatio: null } })
    expect(line.open).toEqual([])
  })
})

const run = (runTimeRatio: number, apparentFloorPct: number): Step => ({
  pct: 10,
  with: { closed: [{ ...CYCLE, runTimeRatio, apparentFloorPct, floorSePct: 0.4 }] },
})

function before(): Line {
  const line = new Line()
  for (let i = 0; i < 6; i++) line.step(run(1.8, 5))
  return line
}

describe('were the beads changed?', () => {
  test('asked when runs halve after half an hour off', () => {
    const line = before()
    for (let i = 0; i < 4; i++) line.step({ ...run(0.9, 4), with: { ...run(0.9, 4).with, offMinBefore: 45 } })
    expect(line.open.map((a) => a.rule)).toEqual(['swapped'])
  })

  test('asked when the floor falls by more than its error', () => {
    const line = before()
    for (let i = 0; i < 4; i++) line.step({ ...run(1.7, 2), with: { ...run(1.7, 2).with, offMinBefore: 45 } })
    expect(line.open[0]?.evidence).toMatchObject({ floorBeforePct: 5, floorAfterPct: 2 })
  })

  test.each([
    ['without a stretch off', 0, 0.9],
    ['when nothing changed', 45, 1.7],
  ])('not asked %s', (_, offMinBefore, ratio) => {
    const line = before()
    for (let i = 0; i < 6; i++) line.step({ ...run(ratio, 5), with: { ...run(ratio, 5).with, offMinBefore } })
    expect(line.events).toEqual([])
  })

  test('a line in the logbook answers it', () => {
    const line = before()
    for (let i = 0; i < 4; i++) line.step({ ...run(0.9, 4), with: { ...run(0.9, 4).with, offMinBefore: 45 } })
    line.step({ pct: 10, with: { fillFromS: line.atS } })
    expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
  })
})
