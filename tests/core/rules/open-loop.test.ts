import { expect, test } from 'vitest'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import { Line, timeline, type Step } from './moment.ts'

const HANGAR = {
  isAmbientMeasured: true,
  ambientPct: 62,
  ambientGm3: vapourDensityGm3(62, 15),
  ambientTempC: 15,
}
const DESERT = {
  isAmbientMeasured: true,
  ambientPct: 14,
  ambientGm3: vapourDensityGm3(14, 15),
  ambientTempC: 15,
}

const LETTERS: Readonly<Record<string, Step>> = {
  d: { pct: 12, pump: 'rest' },
  h: { pct: 60, pump: 'run' },
  i: { pct: 60, pump: 'rest' },
  s: { pct: 22, pump: 'run' },
  m: { pct: 9, pump: 'run' },
  a: { pct: 13, pump: 'run' },
  _: {},
  w: {
    pct: 60,
    pump: 'run',
    with: { wetGate: { isOpen: true, openedAtS: 1, movedG: 3, budgetG: 40, expectedH: 5 } },
  },
}

test.each([
  ['with an ambient sensor it is told in half an hour', HANGAR, 'ddhhhhhh', '.....NNN'],
  ['a surge of damp engine air is not hangar air', HANGAR, 'ddssmmmm', '........'],
  ['at rest the box may well read like the hangar', HANGAR, 'iiiiiiii', '........'],
  ['in a desert a dry loop reads like the hangar', DESERT, 'ddaaaaaa', '........'],
  ['the wet plateau may pass through the hangar humidity', HANGAR, 'ddwwwwww', '........'],
  ['it ends when the air comes down with the pump on', HANGAR, 'ddhhhhhhmm', '.....NNN..'],
  ['a rest does not end it', HANGAR, 'ddhhhhddd', '.....NNNN'],
  ['a gap does not end it', HANGAR, 'ddhhhh____', '.....NNNNN'],
])('%s', (_, base, seen, states) => {
  expect(timeline(new Line(base), 'open-loop', seen, LETTERS)).toBe(states)
})

test('a wet engine that dries passes the humidity of the hangar and is no open loop', () => {
  const line = new Line(HANGAR)
  line.forHours(0.5, { pct: 80, pump: 'rest' })
  line.forHours(4, (h) => ({ pct: Math.max(12, 80 * Math.exp(-0.4 * h)), pump: 'run' }))
  expect(line.isOpen('open-loop')).toBe(false)
})

test('right after a wet plateau it takes three hours: the last few places of an engine dry slowly', () => {
  const slow = { ...HANGAR, kPerH: { low: 0.2, mid: 0.4, high: 0.8 } }
  const told = [false, true].map((isWet) => {
    const line = new Line(slow)
    line.forHours(0.5, { pct: 12, pump: 'rest' })
    const { atS } = line
    line.forHours(5, { pct: 60, pump: 'run', with: { wettedAtS: isWet ? atS + 600 : null } })
    return ((line.events.find((e) => e.rule === 'open-loop')?.atS ?? 0) - atS) / 3600
  })
  expect(told.map((hours) => hours.toFixed(1))).toEqual(['0.6', '3.1'])
})

test('in the days after a flight a wet engine reads like a damp hangar: the wet gate has its say first', () => {
  const told = [1, 6].map((days) => {
    const line = new Line(HANGAR)
    line.forHours(0.5, { pct: 12, pump: 'rest' })
    const { atS } = line
    line.forHours(5, { pct: 60, pump: 'run', with: { wettedAtS: atS - days * 86_400 } })
    return ((line.events.find((e) => e.rule === 'open-loop')?.atS ?? 0) - atS) / 3600
  })
  expect(told.map((hours) => hours.toFixed(1))).toEqual(['1.6', '0.6'])
})

test('after a plateau that was given up and told it is no second fault; without that it is', () => {
  const told = [true, false].map((isTimedOut) => {
    const line = new Line(HANGAR)
    line.forHours(0.5, { pct: 12, pump: 'rest' })
    const alert = { urgency: 'now' as const, sinceS: line.atS, raisedAtS: line.atS, evidence: {} }
    line.memory.open.push({ rule: 'no-drop', ...alert })
    const wetGate = { isOpen: false, isTimedOut, openedAtS: null, movedG: null, budgetG: 40, expectedH: null }
    line.forHours(3, { pct: 60, pump: 'run', with: { wetGate } })
    return line.isOpen('open-loop')
  })
  expect(told).toEqual([false, true])
})

test('a pump that draws nothing by its meter moves no air of the hangar', () => {
  const told = [0, 4.6].map((powerW) => {
    const line = new Line({ ...HANGAR, pumpPowerW: 4.7 })
    line.forHours(0.5, { pct: 12, pump: 'rest' })
    line.forHours(4, { pct: 60, pump: 'run', sample: { powerW } })
    return line.open.map((alert) => alert.rule)
  })
  expect(told).toEqual([['no-drop'], ['open-loop']])
})

test('an inferred run may be a rig that was taken off: an hour shows by the shape of the rise', () => {
  const line = new Line({ ...HANGAR, pump: { state: 'rest', basis: 'inferred', sinceS: null } })
  expect(timeline(line, 'open-loop', 'ddhhhhhhhhhh', LETTERS)).toBe('.........NNN')
})

test('without an ambient sensor it takes an hour and a half of steady hangar-like air after a jump', () => {
  expect(timeline(new Line(), 'open-loop', 'ddhhhhhhhhhhhhhhh', LETTERS)).toBe('...........NNNNNN')
})

test('without a jump, the flow is not proven and it stays silent', () => {
  const line = new Line()
  line.forHours(1, { pct: 60, pump: 'rest' })
  line.forHours(6, { pct: 60, pump: 'run' })
  expect(line.isOpen('open-loop')).toBe(false)
})

test('air that still comes down is a loop that dries', () => {
  const line = new Line()
  line.forHours(1, { pct: 30, pump: 'rest' })
  line.forHours(6, (h) => ({ pct: Math.max(7, 75 * Math.exp(-0.35 * h)), pump: 'run' }))
  expect(line.isOpen('open-loop')).toBe(false)
})

test('says what it costs the beads', () => {
  const line = new Line(HANGAR)
  timeline(line, 'open-loop', 'ddhhhhhh', LETTERS)
  const evidence = line.open[0]?.evidence ?? {}
  // 2.5 L/min of 60 % air at 15 degC: 150 L/h of 0.00770 g/L.
  expect(evidence['gPerH']).toBeCloseTo(1.155, 2)
  // Fresh beads of 2 kg hold about 400 g of it.
  expect(evidence['daysUntilFull']).toBeCloseTo(400 / 1.155 / 24, 1)
})

test('takes over what it explains, and keeps when that began', () => {
  const line = new Line(HANGAR)
  line.forHours(0.2, { pct: 30, pump: 'rest' })
  line.forHours(8, { pct: 30, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
  const sinceS = line.open[0]?.sinceS
  line.forHours(2, { pct: 58, pump: 'run' })
  expect(line.open.map((a) => a.rule)).toEqual(['open-loop'])
  expect(line.open[0]?.sinceS).toBe(sinceS)
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual([
    'raised no-drop',
    'over no-drop',
    'raised open-loop',
  ])
})

/** Unmeasured hangar: a hook-up surge at `topPct` falls within half an hour to a plateau of 36 %, which stands for four hours. */
function toldOnPlateau(topPct: number, restPct: number, gapH = 0): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 } })
  line.forHours(1, { pct: restPct, pump: 'rest' })
  line.forHours(gapH, {})
  line.forHours(0.5, (h) => ({ pct: topPct - 2 * h * (topPct - 36), pump: 'run' }))
  line.forHours(4, { pct: 36, pump: 'run' })
  return line.isOpen('open-loop')
}

test('a surge that comes down by half was a wet engine, and what stands then is its drops; air that only jumped is a hangar', () => {
  expect([90, 85, 36].map((topPct) => toldOnPlateau(topPct, 12))).toEqual([false, false, true])
})

test('a jump is one within half an hour: what was dry before a flight that nobody heard tells nothing', () => {
  expect([0, 2].map((gapH) => toldOnPlateau(50, 12, gapH))).toEqual([true, false])
})

test('a loop that comes open after its surge came down jumps again', () => {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 } })
  line.forHours(1, { pct: 12, pump: 'rest' })
  line.forHours(1, (h) => ({ pct: 80 - 50 * h, pump: 'run' }))
  line.forHours(3, { pct: 50, pump: 'run' })
  expect(line.isOpen('open-loop')).toBe(true)
})

test('on the day of a flight, steady air far drier than the climate is the engine giving back', () => {
  const told = [22, 45].map((pct) => {
    const flightAtS = 1_767_225_600 - 6 * 3600
    const line = new Line({ flightAtS })
    line.forHours(0.5, { pct: 8, pump: 'rest' })
    line.forHours(7, { pct, pump: 'run' })
    return line.isOpen('open-loop')
  })
  expect(told).toEqual([false, true])
})

test("on the day of a flight air like the hangar's is given six hours to come down", () => {
  const fromS = 1_767_225_600
  const told = [fromS - 6 * 3600, fromS - 26 * 3600].map((flightAtS) => {
    const line = new Line({ flightAtS, isAmbientMeasured: true, ambientPct: 62, ambientGm3: null })
    line.forHours(1, { pct: 60, pump: 'rest' })
    line.forHours(8, { pct: 58, pump: 'run' })
    const raised = line.events.find(({ rule }) => rule === 'open-loop')
    return raised === undefined ? null : Math.round((raised.atS - fromS) / 3600 - 1)
  })
  expect(told).toEqual([6, 1])
})
