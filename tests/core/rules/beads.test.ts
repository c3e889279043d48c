import { describe, expect, test } from 'vitest'
import type { Forecast } from '../../../src/core/fold/outputs.ts'
import { SIGMAS, SIGMAS_AGAINST_LEDGER } from '../../../src/core/rules/floor-rising.ts'
import { CYCLE, DAY_S, Line, timeline, type Step } from './moment.ts'

/** Distribution of Student's t with 4 degrees of freedom: the integral of its density in closed form. */
const studentBelow = (t: number) => 0.5 + (t * (t * t + 6)) / (2 * (t * t + 4) ** 1.5)

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

const odds = (front: number, ahead: number, week: number, isProven = false) => ({
  front,
  isFrontSeen: true,
  ahead,
  week,
  isProven,
})

/** Twenty days left in the middle, with these odds. */
const weighed = (front: number, ahead: number, week: number, midDays = 20): Step => ({
  pct: 10,
  with: {
    fillFromS: 1,
    forecast: forecastOf({ flightsLeft: left(0.4, 1.8, 4), daysLeft: left(4, midDays, 2.5 * midDays) }),
    beadsOdds: odds(front, ahead, week),
  },
})

describe('beads about to be used up', () => {
  const letters: Readonly<Record<string, Step>> = {
    p: {
      pct: 10,
      with: {
        fillFromS: 1,
        forecast: forecastOf({ flightsLeft: left(4, 7, 12), daysLeft: left(40, 70, 120) }),
        beadsOdds: odds(0.02, 0.03, 0),
      },
    },
    // A first fill half way: by the interval alone it would be time, by the odds it is not.
    w: weighed(0.1, 0.4, 0.12, 40),
    s: weighed(0.1, 0.8, 0.2),
    f: weighed(0.6, 0.5, 0.1),
    F: weighed(0.6, 0.1, 0, 90),
    k: weighed(0.2, 0.5, 0.4),
    h: weighed(0.2, 0.45, 0.1),
    H: { pct: 10, with: { ...weighed(0.2, 0.45, 0.1).with, beadsOdds: odds(0.2, 0.45, 0.1, true) } },
    _: {},
  }

  test.each([
    ['seven in ten that the time it looks ahead is not left', 'pps', '..o'],
    ['a wide forecast, whose low edge is near zero, is no warning', 'pww', '...'],
    ['the exit air rises more likely than not, with two months left at most', 'pf', '.o'],
    ['runs that lengthen on beads with months left are not the beads', 'pF', '..'],
    ['four in ten are enough for a jar whose earlier fills are known, not for others', 'phH', '..o'],
    ['one in three that a week is not left', 'pk', '.o'],
    ['a few good days do not end it', 'psswwpp', '.oooooo'],
    ['raised once, whatever the odds do between flights', 'swfwkwsw', 'oooooooo'],
    ['a gap does not end it', 's____s', 'oooooo'],
  ])('%s', (_, seen, states) => {
    expect(timeline(new Line(), 'beads-spent', seen, letters)).toBe(states)
  })

  test('that the runs show it is said only where they do', () => {
    const by = [true, false].map((isFrontSeen) => {
      const line = new Line()
      const step = weighed(0.6, 0.1, 0.1)
      line.step({ ...step, with: { ...step.with, beadsOdds: { ...odds(0.6, 0.1, 0.1), isFrontSeen } } })
      return line.open[0]?.evidence['by']
    })
    expect(by).toEqual(['front', 'ledger'])
  })

  // Air that moves: a sensor that stands still for days would hold all judging.
  const roomy = (hour: number): Step => ({ ...letters['p'], pct: 10 + Math.sin(hour) })

  test('four weeks with room end it, and what comes between begins them anew', () => {
    const ends = [false, true].map((isBroken) => {
      const line = new Line()
      timeline(line, 'beads-spent', 's', letters)
      const fromS = line.atS
      line.forHours(14 * 24, roomy)
      if (isBroken) line.step(letters['w'] ?? {})
      line.forHours(15 * 24, roomy)
      return line.story(fromS).some((e) => e.includes('over beads-spent'))
    })
    expect(ends).toEqual([true, false])
  })

  test('an alert that stands says the numbers of its day, and tells nobody again', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 's', letters)
    const now = forecastOf({ takenUpG: left(150, 160, 170), flightsLeft: left(0, 0.3, 1) })
    line.forHours(25, { pct: 10, with: { fillFromS: 1, forecast: now, beadsOdds: odds(0.5, 0.9, 0.6) } })
    expect(line.memory.open.find(({ rule }) => rule === 'beads-spent')?.evidence).toMatchObject({
      takenUpG: 160,
      flightsLeftMid: 0.3,
    })
    expect(line.events.map((e) => e.event)).toEqual(['raised'])
  })

  test('a new fill ends it at once', () => {
    const line = new Line()
    timeline(line, 'beads-spent', 'ss', letters)
    line.step({ pct: 10, with: { fillFromS: line.atS + 300, forecast: null, beadsOdds: null } })
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

  test('says since when, and a gap begins that anew', () => {
    const line = new Line()
    const damp = { place: 'supply' as const, humidityPct: 7 }
    line.forHours(1.1, { pct: 12, pump: 'run' })
    line.step({ pct: 9, pump: 'run', others: [damp] })
    line.forHours(1, {})
    line.forHours(0.5, { pct: 9, pump: 'run', others: [damp] })
    const raised = line.open.find(({ rule }) => rule === 'beads-spent')
    expect(raised?.sinceS).toBe(line.atS - 1500)
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
    expect(line.memory.unknown.find((u) => u.what === 'beads-spent')?.why).toContain('bead mass or flow')
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

  test('what a floor check has shown stands until a better one, with its numbers', () => {
    const line = new Line({ runTimeRatio: 1.1 })
    line.step({ pct: 8, with: { floorCheckPct: { mid: 6.8, se: 0.6 } } })
    for (const runTimeRatio of [1.1, 2.4]) {
      line.forHours(30, { pct: 10 })
      line.step({ pct: 10, with: { runTimeRatio, closed: [{ ...CYCLE, runFromS: line.atS }] } })
    }
    expect(line.open[0]).toMatchObject({
      rule: 'floor-rising',
      evidence: { by: 'floor-check', floorCheckPct: 6.8 },
    })
    line.step({ pct: 8, with: { floorCheckPct: { mid: 3, se: 0.6 } } })
    expect(line.open).toEqual([])
  })

  test('runs that were long for a day are not what a later floor check shows', () => {
    const line = new Line()
    for (const runTimeRatio of [2.4, 1.9])
      line.step({ pct: 10, with: { runTimeRatio, closed: [{ ...CYCLE, runFromS: line.atS }] } })
    line.step({ pct: 8, with: { floorCheckPct: { mid: 6.8, se: 0.6 } } })
    expect(line.open[0]?.evidence['by']).toBe('floor-check')
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

  test.each([
    ['runs that repeat', 3, 0.1, 0.5, true],
    ['a rig whose runs differ by a half', 3, 0.35, 0.5, false],
    ['the same ratio with a ledger that knows of a reason', 3, 0.15, 0.5, true],
    ['and with one that says that the beads are as baked', 3, 0.15, 0.02, false],
    ['more than chance, weather and season together', 6, 0.15, 0.02, true],
  ])('a ratio comes with its own error: %s', (_, runTimeRatio, runTimeRatioLnSd, front, isRaised) => {
    const line = new Line()
    for (let i = 0; i < 12; i++) {
      line.forHours(8, { pct: 10 })
      const closed = [{ ...CYCLE, runFromS: line.atS }]
      const beadsOdds = odds(front, 0, 0)
      line.step({ pct: 10, with: { runTimeRatio, runTimeRatioLnSd, beadsOdds, closed } })
    }
    expect(line.isOpen('floor-rising')).toBe(isRaised)
  })

  test('its limits are quantiles of Student with 4 degrees of freedom, by the closed form of its distribution', () => {
    expect(studentBelow(SIGMAS)).toBeCloseTo(0.99, 5)
    expect(studentBelow(SIGMAS_AGAINST_LEDGER)).toBeCloseTo(0.9995, 6)
  })

  test('new beads end it', () => {
    const line = new Line({ runTimeRatio: 2.4 })
    line.step({ pct: 10, with: { closed: [CYCLE] } })
    line.step({ pct: 10, with: { fillFromS: line.atS + DAY_S, runTimeRatio: null } })
    expect(line.open).toEqual([])
  })
})
