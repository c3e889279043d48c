import { expect, test } from 'vitest'
import { saturationDensityGm3 } from '../../../src/core/air/vapour.ts'
import type { Forecast } from '../../../src/core/fold/outputs.ts'
import type { EndedRun, Moment } from '../../../src/core/rules/rule.ts'
import { alertSentence } from '../../../src/core/words/alert-words.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'
import { CYCLE, ENDED, HOUR_S, Line } from './moment.ts'

const EVERY_H = 8

/**
 * A run every eight hours that carries out what `ingress` L/h of hangar air brought in, from the peak that it made to
 * 6 %. The loop holds the water of 180 L of air: 45 L and three times as much in films and oil.
 */
function rests(
  line: Line,
  ingress: readonly number[],
  more: Partial<EndedRun> = {},
  { holdsL = 180, everyH = EVERY_H } = {},
): void {
  const ambientPct = line.moment.ambientPct ?? 60
  for (const litresPerH of ingress) {
    const peakPct = ambientPct - (ambientPct - 6) * Math.exp((-litresPerH * everyH) / holdsL)
    const waterG = (holdsL * ((peakPct - 6) / 100) * saturationDensityGm3(15)) / 1000
    const meanPct = (peakPct - 6) / Math.log(Math.max(peakPct, 6.1) / 6)
    const litres = (1000 * waterG) / (((meanPct - 0.5) / 100) * saturationDensityGm3(15))
    const runS = Math.max(60, (60 * litres) / 2.5)
    line.forHours(everyH - 1 / 12, (h) => ({ pct: 10 + (h % 1) }))
    const run = { ...ENDED, fromS: line.atS - runS, toS: line.atS, startPct: Math.min(15, peakPct), peakPct }
    line.step({ pct: 10, with: { ended: [{ ...run, ...more }], closed: [CYCLE] } })
  }
}

/** A rig's own scatter: x/ 1.5 or so, the same every time. */
const usual = (count: number, factor = 1): number[] =>
  Array.from({ length: count }, (_, i) => factor * 0.6 * Math.exp(0.4 * Math.sin(2.4 * i + 0.7)))

const AMPLE: Forecast = {
  takenUpG: { low: 18, mid: 20, high: 22 },
  capacityG: { low: 150, mid: 170, high: 260 },
  flightsLeft: null,
  daysLeft: { low: 90, mid: 150, high: 300 },
  emptyAtS: null,
  noFlightsUntilS: null,
}

function learned(base = {}): Line {
  const line = new Line({ settings: { ...new Line().moment.settings, volumeL: 30 }, ...base })
  rests(line, usual(20))
  return line
}

/** Three weeks after its last flight, with beads that are good for months. */
const longDry = (line: Line): Partial<Moment> => ({
  forecast: AMPLE,
  flightAtS: line.atS - 20 * 24 * HOUR_S,
  wettedAtS: line.atS - 20 * 24 * HOUR_S,
})

/** A run has come down to `stop` and ended. */
function endRun(line: Line, known: Partial<Moment>): void {
  const ended = [{ ...ENDED, fromS: line.atS, toS: line.atS }]
  line.step({ pct: 8, pump: 'rest', with: { ...known, ended } })
}

test('usual scatter is no leak', () => {
  const line = learned()
  rests(line, usual(120))
  expect(line.events).toEqual([])
})

test.each([
  ['flow', { flowLPerMin: null }],
  ['volume', { volumeL: null }],
])('where no %s is stated a leak is told by its ratio, and has no litres', (_, missing) => {
  const settings = { ...new Line().moment.settings, volumeL: 30 }
  const line = learned({ settings: { ...settings, ...missing } })
  rests(line, usual(20, 6))
  const told = line.events.find(({ rule, event }) => rule === 'leak' && event === 'raised')
  if (told === undefined) throw new Error('no leak told')
  expect(told.evidence).toMatchObject({ ingressLPerH: null, ingressPerH: null, usualPerH: null })
  expect(told.evidence['timesUsual']).toBeGreaterThan(3)
  expect(alertSentence(told, PLAIN)).not.toMatch(/\bL\b/u)
  // What it is urgent by is the rig's own ingress, so many times over.
  expect(told.evidence['ingressHighPerH']).toBeGreaterThan(0.06)

  const stated = learned({ settings })
  rests(stated, usual(20, 6))
  const withLitres = stated.events.find(({ rule }) => rule === 'leak')
  expect(withLitres?.evidence['ingressLPerH']).toBeGreaterThan(1)
})

test('twice the usual, as a season or a wrong climate brings, is no leak', () => {
  const line = learned()
  rests(line, usual(60, 2))
  expect(line.events).toEqual([])
})

test('nor is two and a half times it for weeks, however sure that is: weather does as much', () => {
  const line = learned({ isAmbientMeasured: true })
  rests(line, usual(45, 2.4))
  expect(line.events).toEqual([])
})

test('after a wet run an endless one is what the engine still gives off, until days have passed', () => {
  const line = learned()
  const known = longDry(line)
  const wet = { ...ENDED, fromS: line.atS - 70 * HOUR_S, isWhole: false, afterFlight: true }
  const endless = (h: number) => ({ pct: 9 + 6 * Math.exp(-1.5 * h), pump: 'run' as const, with: known })
  line.forHours(80, { pct: 10 })
  line.step({ pct: 8, with: { ...known, ended: [{ ...wet, toS: line.atS }] } })
  line.forHours(12, endless)
  expect(line.isOpen('leak')).toBe(false)
  line.forHours(60, { pct: 10, pump: 'rest', with: known })
  endRun(line, known)
  line.forHours(12, endless)
  expect(line.isOpen('leak')).toBe(true)
})

test('nor is what follows a wet run that nobody logged, though runs end again in between', () => {
  const line = learned()
  const known = longDry(line)
  const endless = (h: number) => ({ pct: 9 + 6 * Math.exp(-1.5 * h), pump: 'run' as const, with: known })
  line.forHours(4, { pct: 10, with: known })
  // Four hours from 70 % to stop, by a hub that was unplugged over a flight nobody logged: the start was not seen.
  const wet = {
    ...ENDED,
    fromS: line.atS - 4 * HOUR_S,
    startPct: null,
    peakPct: 70,
    topPct: 70,
    isWhole: false,
  }
  line.step({ pct: 8, pump: 'rest', with: { ...known, ended: [{ ...wet, toS: line.atS }] } })
  endRun(line, known)
  line.forHours(24, endless)
  expect(line.isOpen('leak')).toBe(false)
  line.forHours(72, { pct: 10, pump: 'rest', with: known })
  endRun(line, known)
  line.forHours(12, endless)
  expect(line.isOpen('leak')).toBe(true)
})

test('a run after an hour or more that nobody saw may be drying a flight, until a run has ended again', () => {
  const line = learned()
  const known = longDry(line)
  const endless = (h: number) => ({ pct: 9 + 6 * Math.exp(-1.5 * h), pump: 'run' as const, with: known })
  endRun(line, known)
  line.moment = { ...line.moment, backAtS: line.atS, offMinBefore: 220 }
  line.forHours(12, endless)
  expect(line.isOpen('leak')).toBe(false)
  endRun(line, known)
  line.forHours(12, endless)
  expect(line.isOpen('leak')).toBe(true)
})

test('air that is coming down is no loop that stands above stop, however long the run is said to last', () => {
  const line = learned()
  const known = longDry(line)
  endRun(line, known)
  // An inferred run of the morning that was none: the air lies at the start limit until the pump starts in the evening.
  line.moment = { ...line.moment, pump: { ...line.moment.pump, basis: 'inferred' } }
  line.forHours(10, { pct: 14.6, pump: 'run', with: known })
  line.forHours(1, (h) => ({ pct: 4 + 10 * Math.exp(-1.5 * h), pump: 'run', with: known }))
  expect(line.events.filter(({ rule }) => rule === 'leak')).toEqual([])
})

test('a run that outlasts a bake is judged by what the fresh beads do', () => {
  const line = learned()
  const known = longDry(line)
  const usedUp = { ...AMPLE, daysLeft: { low: 0, mid: 1, high: 4 } }
  const level = (ranH: number, forecast: Forecast, fillFromS: number | null) => (h: number) => ({
    pct: 9 + 6 * Math.exp(-1.5 * (ranH + h)),
    pump: 'run' as const,
    with: { ...known, forecast, fillFromS },
  })
  endRun(line, known)
  line.forHours(9, level(0, usedUp, line.atS - 90 * 24 * HOUR_S))
  const bakedS = line.atS
  line.forHours(7, level(9, AMPLE, bakedS))
  expect(line.isOpen('leak')).toBe(false)
  line.forHours(5, level(16, AMPLE, bakedS))
  expect(line.isOpen('leak')).toBe(true)
})

test('five times the usual is told within three days, with its factor', () => {
  const line = learned()
  const fromS = line.atS
  rests(line, usual(9, 5))
  expect(line.open.map((a) => a.rule)).toEqual(['leak'])
  expect((line.events[0]?.atS ?? Infinity) - fromS).toBeLessThanOrEqual(72 * HOUR_S)
  expect(line.events[0]?.evidence['days']).toBeGreaterThanOrEqual(1)
})

test.each([
  ['a day and a night, four times too soon, is proof with the run after it', 6, [26, 8], ['leak']],
  ['a day and a night, however much it let in, is none alone', 9, [26], []],
  ['two days is', 6, [50], ['leak']],
  ['a day and a night, three and a half times too soon, is not', 2.1, [26], []],
  ['a day and a half, three and a half times too soon, is not', 2.1, [38], []],
])('on a rig that rests for days, a rest of %s', (_, litresPerH, restsH, rules) => {
  const line = learned({ isAmbientMeasured: true })
  rests(line, usual(12), {}, { everyH: 60 })
  for (const everyH of restsH) rests(line, [litresPerH], {}, { everyH })
  expect(line.open.map((alert) => alert.rule)).toEqual(rules)
})

/** What ten days from the third after a flight on tell, of which the first runs take in `first` L/h and the others eight times the own. */
function toldAfterFlight(metalTempC: number, first: readonly number[]): boolean {
  const line = learned({ metalTempC, isAmbientMeasured: true })
  line.moment = { ...line.moment, wettedAtS: line.atS - 3 * 24 * HOUR_S }
  rests(line, first)
  rests(line, usual(20, 8))
  return line.isOpen('leak')
}

test('in the cold a flight gives back water at an even rate for a week: a leak is a step after an ordinary day, or what stays', () => {
  expect(toldAfterFlight(-8, usual(8, 8))).toBe(false)
  expect(toldAfterFlight(-8, usual(8))).toBe(true)
  expect(toldAfterFlight(15, usual(8, 8))).toBe(true)
})

/** Runs of the days `fromDays` to `toDays` after a flight that left `times` as much again, half of it gone every two days. */
function afterFlight(line: Line, times: number, fromDays: number, toDays: number): void {
  const one = usual(1000)
  for (let i = 0; fromDays + (i * EVERY_H) / 24 < toDays; i++) {
    const daysSinceFlight = fromDays + (i * EVERY_H) / 24
    rests(line, [(one[i] ?? 0) * (1 + times * 2 ** ((3 - daysSinceFlight) / 2))], { daysSinceFlight })
  }
}

test('what flights leave in the oil for more than a week is learned, and no leak', () => {
  const line = new Line()
  for (let flight = 0; flight < 6; flight++) afterFlight(line, 5, 3, 12)
  expect(line.events).toEqual([])
})

test('a leak that begins days after a flight is told on a rig whose flights leave much, too', () => {
  const line = new Line()
  for (let flight = 0; flight < 4; flight++) afterFlight(line, 5, 3, 12)
  const fromS = line.atS
  rests(line, usual(9, 5), { daysSinceFlight: 12 })
  expect(line.open.map((alert) => alert.rule)).toEqual(['leak'])
  expect((line.events[0]?.atS ?? Infinity) - fromS).toBeLessThanOrEqual(72 * HOUR_S)
})

test('while the air over them is wet, films and oil stay full: the days count from the end of the wet run', () => {
  const line = learned({ isAmbientMeasured: true })
  // In the cold the plateau lasts four days; what the oil then gives back is fifteen times the own.
  line.forHours(96, { pct: 60, pump: 'run', with: { wetGate: { ...line.moment.wetGate, isOpen: true } } })
  const wet = { ...ENDED, fromS: line.atS - 96 * HOUR_S, toS: line.atS, peakPct: 90, isWhole: false }
  line.step({ pct: 6, with: { ended: [{ ...wet, afterFlight: true, daysSinceFlight: 4 }] } })
  rests(line, usual(8, 15), { daysSinceFlight: 5.5 })
  expect(line.events).toEqual([])
})

test.each([
  ['above the limit, at rest until then', { startPct: 45, peakPct: 60 }, 'reported', 15],
  ['below it, and only inferred', { startPct: 9.5, peakPct: 56 }, 'inferred', 15],
  ['below what it climbed to in its course', { startPct: 15.2, peakPct: 20, topPct: 70 }, 'reported', 15],
  ['below a limit of 30 %, and only inferred', { startPct: 20, peakPct: 75 }, 'inferred', 30],
  [
    "below the air that it brought, wetter than the hangar's",
    { startPct: 15.2, peakPct: 87 },
    'reported',
    15,
  ],
] as const)(
  'a run that began far %s, is a rig back from a flight nobody logged',
  (_, back, basis, startPct) => {
    const line = learned({ isAmbientMeasured: true })
    const settings = { ...line.moment.settings, band: { ...line.moment.settings.band, startPct } }
    line.moment = { ...line.moment, pump: { ...line.moment.pump, basis }, settings }
    rests(line, usual(2), back)
    rests(line, usual(7, 15))
    expect(line.events).toEqual([])
  },
)

test('a leak makes the air climb to the limit fast, and its runs begin there all the same', () => {
  const line = learned()
  line.moment = { ...line.moment, pump: { ...line.moment.pump, basis: 'inferred' } }
  rests(line, usual(9, 15), { startPct: 15.5 })
  expect(line.open.map((alert) => alert.rule)).toEqual(['leak'])
})

test('nor is a leak a flight that fills the engine ahead of the box, where the last reading before a run is a little low', () => {
  const line = learned({ isAmbientMeasured: true })
  line.moment = { ...line.moment, pump: { ...line.moment.pump, basis: 'inferred' } }
  rests(line, usual(9, 8), { startPct: 13, peakPct: 30 })
  expect(line.open.map((alert) => alert.rule)).toEqual(['leak'])
})

test("nor one that fills the engine with the hangar's own air", () => {
  const line = learned({ isAmbientMeasured: true })
  rests(line, usual(9, 8), { startPct: 15.2, peakPct: 58 })
  expect(line.open.map((alert) => alert.rule)).toEqual(['leak'])
})

test('nor one that lets in the moist air of a cold day, where a climate is stated by its mean', () => {
  // 85 % at 8 degC is less vapour than the 60 % at 15 degC of the mean, but more than 60 % of a hangar at 5 degC.
  const line = learned({ metalTempC: 5 })
  rests(line, usual(9, 8), { startPct: 15.2, peakPct: 85, tempC: 8 })
  expect(line.open.map((alert) => alert.rule)).toEqual(['leak'])
})

test('one odd rest is not enough', () => {
  const line = learned()
  rests(line, [...usual(1, 9), ...usual(9), ...usual(1, 9), ...usual(9)])
  expect(line.events).toEqual([])
})

test('the first days after a flight tell nothing about the seal', () => {
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

test('nor does a run that stands above stop in that day', () => {
  const line = learned()
  const known = { ...longDry(line), preheatAtS: line.atS }
  line.forHours(23, (h) => ({ pct: 9 + 6 * Math.exp(-1.5 * h), pump: 'run', with: known }))
  expect(line.isOpen('leak')).toBe(false)
  line.forHours(3, { pct: 9, pump: 'run', with: known })
  expect(line.isOpen('leak')).toBe(true)
})

test('it is one alert, over only when the chart is back at zero', () => {
  const line = learned()
  rests(line, [...usual(9, 6), 0.6, ...usual(2, 6), ...usual(24)])
  expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
})

test('on a rig whose own is near what any loop takes in it is over all the same, once that is mended', () => {
  const line = new Line({ isAmbientMeasured: true })
  const own = usual(20, 6.5)
  rests(line, own)
  expect(line.events).toEqual([])
  rests(line, usual(9, 32))
  expect(line.isOpen('leak')).toBe(true)
  expect(line.open[0]?.evidence['by']).toBe('change')
  rests(line, own)
  expect(line.isOpen('leak')).toBe(false)
})

test('a loop that takes in more than any closed one was never sealed, from the first days on', () => {
  const line = new Line()
  rests(line, usual(12, 20))
  expect(line.open[0]).toMatchObject({ rule: 'leak', evidence: { by: 'never sealed' } })
})

test('in the cold the days after a flight are worth less, and litres are believed only once five of them are over at 15 degC', () => {
  const told = [15, -5].map((metalTempC) => {
    const line = new Line({ metalTempC, isAmbientMeasured: true, wettedAtS: 1_767_225_600 - 6 * 24 * HOUR_S })
    rests(line, usual(12, 20))
    return line.events.some(({ rule, evidence }) => rule === 'leak' && evidence['by'] === 'never sealed')
  })
  expect(told).toEqual([true, false])
})

test('while the beads may be used up, the water that they send back makes no loop look unsealed', () => {
  const daysLeft = { low: 0, mid: 5, high: 40 }
  const spent: Forecast = { ...AMPLE, daysLeft }
  const line = new Line({ forecast: spent })
  rests(line, usual(12, 20))
  expect(line.open.filter((alert) => alert.rule === 'leak')).toEqual([])
  // Nor does what they sent back count once they are baked.
  line.step({ with: { forecast: AMPLE } })
  rests(line, usual(4))
  expect(line.open.filter((alert) => alert.rule === 'leak')).toEqual([])
})

test.each([
  ['on a dry engine is a leak that keeps the pump from ever reaching stop', 20, ['leak']],
  ['in the days after a flight is what oil and dead ends give back', 2, []],
])('a run that stands above stop for half a day %s', (_, daysSince, rules) => {
  const line = learned()
  const flightAtS = line.atS - daysSince * 24 * HOUR_S
  const known = { forecast: AMPLE, flightAtS, wettedAtS: flightAtS }
  line.forHours(12, (h) => ({ pct: 9 + 6 * Math.exp(-1.5 * h), pump: 'run', with: known }))
  expect(line.open.map((alert) => alert.rule).filter((rule) => rule === 'leak')).toEqual(rules)
})

test.each([
  [5, ['leak']],
  [2, []],
])(
  'beads with %d days left at the least, that ended a run a day ago, are not what keeps the next going',
  (low, rules) => {
    const line = learned()
    const known = { ...longDry(line), forecast: { ...AMPLE, daysLeft: { low, mid: 20, high: 60 } } }
    line.forHours(12, (h) => ({ pct: 9 + 6 * Math.exp(-1.5 * h), pump: 'run', with: known }))
    expect(line.open.map((alert) => alert.rule).filter((rule) => rule === 'leak')).toEqual(rules)
  },
)

test('before a few days the rig own ingress is unknown, and it says so', () => {
  const line = new Line()
  rests(line, usual(4))
  expect(line.memory.unknown.find((u) => u.what === 'leak')?.why).toContain('3 days after a flight')
})

test('five times the usual is told when the run ends, not a rest later', () => {
  const line = learned()
  const fromS = line.atS
  rests(line, usual(6, 5))
  expect((line.events[0]?.atS ?? Infinity) - fromS).toBeLessThanOrEqual(48 * HOUR_S)
})

test('longer runs without a faster climb are beads or a suction leak, no leak', () => {
  const line = learned()
  // The same rests and climbs, and four hours of running where one did: what comes back is wetter, not more.
  for (const one of usual(30)) {
    line.forHours(4, { pct: 10 })
    rests(line, [one], { fromS: line.atS + 4 * HOUR_S })
  }
  expect(line.events).toEqual([])
})

/** Runs that carry out three times the usual water while the rests climb `climb` times as fast. */
function toldByWater(climb: number, forecast: Forecast | null): boolean {
  const line = learned({ forecast })
  // The peak, by which the climb of a rest is counted, is that of the engine's air; what comes back wetter lengthens the run.
  for (const one of usual(12, climb)) {
    line.forHours(3, { pct: 10 })
    rests(line, [one], { fromS: line.atS + 5 * HOUR_S })
  }
  return line.isOpen('leak')
}

test('where no ledger says that the beads are fresh, water that does not come with a climb may be theirs', () => {
  expect([AMPLE, null].map((forecast) => toldByWater(1.7, forecast))).toEqual([true, false])
  expect([AMPLE, null].map((forecast) => toldByWater(5, forecast))).toEqual([true, true])
})

test('a stated climate that is off by two thirds makes no loop look unsealed, a measured one of that size does', () => {
  const stated = new Line()
  rests(stated, usual(12, 10))
  expect(stated.events).toEqual([])
  const measured = new Line({ isAmbientMeasured: true })
  rests(measured, usual(12, 10))
  expect(measured.open[0]).toMatchObject({ rule: 'leak', evidence: { by: 'never sealed' } })
})

test('nor does a measured one that is over the limit by less than flow and sensors are off', () => {
  const line = new Line({ isAmbientMeasured: true })
  rests(line, [5.6, 5.8, 5.7, 5.9, 5.8, 5.6, 5.7, 5.8])
  expect(line.events).toEqual([])
})

test('a run that stood far above the limit for hours is on a wet engine, and what it then rests at is no leak', () => {
  const line = learned()
  line.forHours(12, (h) => ({ pct: Math.max(10, 60 - 12 * h), pump: 'run', with: { forecast: AMPLE } }))
  expect(line.isOpen('leak')).toBe(false)
  const dry = learned()
  dry.forHours(12, (h) => ({ pct: Math.max(10, 60 - 60 * h), pump: 'run', with: { forecast: AMPLE } }))
  expect(dry.isOpen('leak')).toBe(true)
})

test('a gap is not bridged: what was let in meanwhile is no rest', () => {
  const line = learned()
  for (let i = 0; i < 8; i++) {
    line.forHours(24, {})
    rests(line, [0.6], { fromS: line.atS })
  }
  expect(line.events.filter((e) => e.rule === 'leak')).toEqual([])
})

test('a pump that was kept on for a floor check has emptied films and oil far below stop: that water did not get in', () => {
  const line = learned()
  for (let i = 0; i < 8; i++) {
    line.forHours(20, { pct: 10 })
    line.forHours(4, { pct: 2, pump: 'run', with: { isFloorCheck: true } })
    const run = { ...ENDED, fromS: line.atS - 4 * HOUR_S, toS: line.atS, endPct: 1 }
    line.step({ pct: 2, pump: 'rest', with: { isFloorCheck: false, ended: [run], closed: [CYCLE] } })
  }
  expect(line.events.filter((e) => e.rule === 'leak')).toEqual([])
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
