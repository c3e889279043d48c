import { expect, test } from 'vitest'
import type { Moment } from '../../../src/core/rules/rule.ts'
import { DAY_S, ENDED, HOUR_S, Line, rested } from './moment.ts'

/** A flight and its hook-up; the run that follows comes down to `stop` after `driedH` hours, and so do those of the next days. */
function flown(line: Line, driedH: number): void {
  const flightAtS = line.atS
  line.step({ pct: 60, pump: 'rest', with: { flightAtS, wettedAtS: flightAtS, backAtS: flightAtS } })
  const fall = (h: number) => 6 + 54 * Math.exp((-5 * h) / driedH)
  line.forHours(driedH, (h) => ({ pct: fall(h), pump: 'run' }))
  const run = { ...ENDED, fromS: flightAtS, toS: line.atS, isWhole: false }
  line.step({ pct: 6, pump: 'rest', with: { ended: [run] } })
  line.forHours(150, { pct: 9, pump: 'rest' })
}

/** A rig that has dried `flights` flights within five hours each flies again, and its run settles at 10 %. Told after, h. */
function toldAfterH(flights: number, base: Partial<Moment> = {}): number | null {
  const line = new Line(base)
  for (let flight = 0; flight < flights; flight++) flown(line, 5)
  const flightAtS = line.atS
  line.step({ pct: 60, pump: 'rest', with: { flightAtS, wettedAtS: flightAtS, backAtS: flightAtS } })
  line.forHours(60, (h) => ({ pct: 10 + 50 * Math.exp(-1.5 * h), pump: 'run' }))
  const raised = line.events.find(({ rule }) => rule === 'band-not-reached')
  return raised === undefined ? null : (raised.atS - flightAtS) / HOUR_S
}

test('where flights have dried within hours, a run that settles above stop a day after one is told', () => {
  // Four times the five hours from two flights, twice them from six, and half a day at the least.
  expect(toldAfterH(1)).toBeNull()
  expect(toldAfterH(2)).toBeCloseTo(20, 0)
  expect(toldAfterH(6)).toBeCloseTo(12, 0)
})

test('a plateau is not counted: the tail begins where its drops are gone', () => {
  const line = new Line()
  for (let flight = 0; flight < 6; flight++) flown(line, 5)
  const flightAtS = line.atS
  line.step({ pct: 60, pump: 'rest', with: { flightAtS, wettedAtS: flightAtS, backAtS: flightAtS } })
  line.forHours(40, { pct: 60, pump: 'run' })
  const driedAtS = line.atS
  line.forHours(30, (h) => ({ pct: 10 + 50 * Math.exp(-1.5 * h), pump: 'run', with: { driedAtS } }))
  const raised = line.events.find(({ rule }) => rule === 'band-not-reached')
  expect(((raised?.atS ?? 0) - driedAtS) / HOUR_S).toBeCloseTo(12, 0)
})

test('in the cold the same water takes longer', () => {
  expect(toldAfterH(6, { metalTempC: 15 })).toBeCloseTo(12, 0)
  const line = new Line()
  for (let flight = 0; flight < 6; flight++) flown(line, 5)
  const flightAtS = line.atS
  const cold = { metalTempC: 0 }
  line.step({ pct: 60, pump: 'rest', with: { ...cold, flightAtS, wettedAtS: flightAtS, backAtS: flightAtS } })
  line.forHours(28, (h) => ({ pct: 10 + 50 * Math.exp(-1.5 * h), pump: 'run' }))
  expect(line.isOpen('band-not-reached')).toBe(false)
})

test('an overdue tail that still falls is left to come down: films and oil give back for days', () => {
  const told = [0, 0.3].map((perH) => {
    const line = new Line({ kPerH: { low: 3, mid: 5, high: 8 } })
    for (let flight = 0; flight < 6; flight++) flown(line, 5)
    const flightAtS = line.atS
    line.step({ pct: 60, pump: 'rest', with: { flightAtS, wettedAtS: flightAtS, backAtS: flightAtS } })
    line.forHours(1, { pct: 60, pump: 'run' })
    line.forHours(1, (h) => ({ pct: 60 - 48 * h, pump: 'run' }))
    line.forHours(14, (h) => ({ pct: 12 - perH * h, pump: 'run' }))
    return line.isOpen('band-not-reached')
  })
  expect(told).toEqual([true, false])
})

/** A run that begins at the 15 % of a rest, reads `firstPct` at once and stands there; what is open after 12 h. */
function openWhereItStands(firstPct: number, base: Partial<Moment> = {}): string[] {
  const line = rested(base)
  line.forHours(12, { pct: firstPct, pump: 'run' })
  return line.open.map(({ rule }) => rule)
}

test('air that fell as the pump started and stands above stop was moved: the beads are asked, not the pump', () => {
  expect(openWhereItStands(10)).toEqual(['band-not-reached'])
  expect(openWhereItStands(14)).toEqual(['no-drop'])
})

test('a fall within noise is none', () => {
  expect(openWhereItStands(10.5, { sensor: { sigmaPct: 1, stepPct: 0.1, stuckShare: 0.5 } })).not.toContain(
    'band-not-reached',
  )
})

test('a pump that nobody reports is asked first where its air has never come down', () => {
  const inferred = { pump: { state: 'rest', basis: 'inferred', sinceS: null } } as const
  const told = [16, 9].map((pct) => {
    const line = rested(inferred)
    line.forHours(10, (h) => ({ pct: pct + (17 - pct) * Math.exp(-1.5 * h), pump: 'run' }))
    return line.open.map(({ rule }) => rule)
  })
  expect(told).toEqual([['no-drop'], ['band-not-reached']])
})

test('a pump that dies in mid-run lets the air climb as in a rest, and is told once it is above start', () => {
  const line = rested()
  line.forHours(1, { pct: 10, pump: 'run' })
  line.forHours(4, (h) => ({ pct: 10 + 2 * h, pump: 'run' }))
  line.forHours(3, { pct: 18, pump: 'run' })
  expect(line.open.map(({ rule }) => rule)).toEqual(['no-drop'])
})

test('that the air gets no drier is told once: where it has settled above stop no pump is called dead', () => {
  const line = rested()
  line.forHours(9, (h) => ({ pct: 10 + 5 * Math.exp(-1.5 * h), pump: 'run' }))
  expect(line.open.map(({ rule }) => rule)).toEqual(['band-not-reached'])
  // As the beads get wetter still, the air climbs above start, and a flight or a restart of the hub begins a new run.
  line.forHours(48, (h) => ({ pct: 10 + h / 4, pump: 'run' }))
  line.step({ pct: 22, pump: 'rest' })
  line.forHours(12, { pct: 22, pump: 'run' })
  expect(line.events.map(({ rule, event }) => `${event} ${rule}`)).toEqual(['raised band-not-reached'])
})

test('of a run that never came down the pump is told as well', () => {
  const line = rested({ kPerH: { low: 2, mid: 3, high: 4 } })
  const { atS } = line
  line.forHours(12, (h) => ({ pct: 17 + h / 5, pump: 'run' }))
  expect(line.story(atS)).toEqual(['2.5 raised band-not-reached visit', '2.7 raised no-drop now'])
})

test('a pump that draws nothing is told all the same', () => {
  const line = rested({ pumpPowerW: 4 })
  line.forHours(9, (h) => ({ pct: 10 + 5 * Math.exp(-1.5 * h), sample: { powerW: 4 }, pump: 'run' }))
  line.forHours(1, { pct: 10, sample: { powerW: 0.3 }, pump: 'run' })
  expect(line.open.map(({ rule }) => rule)).toContain('no-drop')
})

test('what a flight explains for five days is not told before them on a rig that has shown nothing yet', () => {
  const wettedAtS = 1_767_225_600
  const line = new Line({ wettedAtS, flightAtS: wettedAtS })
  line.forHours(24, (h) => ({ pct: 10 + 50 * Math.exp(-1.5 * h), pump: 'run' }))
  expect(line.isOpen('band-not-reached')).toBe(false)
  line.forHours((5 * DAY_S) / HOUR_S, { pct: 10, pump: 'run' })
  expect(line.isOpen('band-not-reached')).toBe(true)
})
