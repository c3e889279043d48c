import { expect, test } from 'vitest'
import { DAY_S, ENDED, HOUR_S, Line, sameVapour, type Step } from './moment.ts'

/** Air on its way to `floorPct` with k = 1.5 /h, with a sensor's last digit dancing. */
const towards =
  (floorPct: number) =>
  (hour: number): Step => ({
    pct: floorPct + (16 - floorPct) * Math.exp(-1.5 * hour) + ((Math.round(hour * 12) % 3) - 1) * 0.1,
    pump: 'run',
  })

function rested(base = {}): Line {
  const line = new Line(base)
  line.forHours(0.3, { pct: 15, pump: 'rest' })
  return line
}

/** Now and then a reading that is 0.3 % too high. */
const dance = (hour: number) => (Math.round(hour * 12) % 5 === 0 ? 0.3 : 0)

/** Down to 7 % within the hour, then a slow climb that is too small for a coarse sensor to be seen as one. */
const barelyStopped = (hour: number) => ({
  pct: hour < 1 ? Math.round(16 - 9.5 * hour) : Math.round(8 + hour / 12),
})

/** Three times ln((16 - 3)/(6 - 3))/k_lo, with k_lo = 1 /h and the floor's upper end at 3 %. */
const NEEDED_H = 3 * Math.log(13 / 3)

test('a run that settles above stop is said once it is three times too long, since it began', () => {
  const line = rested()
  const fromS = line.atS
  line.forHours(10, towards(9))
  expect(line.open.map((a) => `${a.rule} ${a.urgency}`)).toEqual(['band-not-reached visit'])
  const raised = line.events[0]
  expect(((raised?.raisedAtS ?? 0) - fromS) / HOUR_S).toBeGreaterThan(NEEDED_H - 0.2)
  expect(((raised?.raisedAtS ?? 0) - fromS) / HOUR_S).toBeLessThan(NEEDED_H + 0.5)
  expect(raised?.sinceS).toBe(fromS + 300)
})

test.each([
  ['a run that ends in time', 2, 0.8, {}],
  ['a reading within noise of stop', 6.3, 24, {}],
  [
    'the five days after a flight, when films and oil give back water',
    9,
    24,
    { wettedAtS: 1_767_225_600 - 2 * DAY_S },
  ],
])('silent: %s', (_, floorPct, hours, base) => {
  const line = rested(base)
  line.forHours(hours, towards(floorPct))
  line.forHours(1, { pct: floorPct, pump: 'rest' })
  expect(line.events).toEqual([])
})

test('silent while the air still comes down, however long the run', () => {
  const line = rested()
  line.forHours(12, (h) => ({ pct: 16 - 0.6 * h, pump: 'run' }))
  expect(line.isOpen('band-not-reached')).toBe(false)
})

test('silent while the air still comes down to stop, however slowly, and some reading is above it by noise', () => {
  // The sensor's last digit dances by 0.3 %; a tenth of a percent an hour is left to fall, and a third to `stop`.
  const line = rested({ sensor: { sigmaPct: 0.1, stepPct: 0.1, stuckShare: 0.3 } })
  line.forHours(14, (h) => ({ pct: 6.15 + 10 * Math.exp(-1.5 * h) + dance(h), pump: 'run' }))
  expect(line.isOpen('band-not-reached')).toBe(false)
})

test('silent where the trend still leads to stop', () => {
  const line = rested({ sensor: { sigmaPct: 0.05, stepPct: 0.01, stuckShare: 0.1 } })
  line.forHours(6.2, (h) => ({ pct: 6.02 + 10 * Math.exp(-1.5 * h) + 0.22 * (6.2 - h), pump: 'run' }))
  expect(line.isOpen('band-not-reached')).toBe(false)
})

test('an inferred run that came near stop between two readings is over, though nobody saw it end', () => {
  const coarse = { sensor: { sigmaPct: 0.6, stepPct: 1, stuckShare: 0.05 } }
  const inferred = rested({ ...coarse, pump: { state: 'rest', basis: 'inferred', sinceS: null } })
  inferred.forHours(17, (h) => ({ ...barelyStopped(h), pump: 'run' }))
  expect(inferred.isOpen('band-not-reached')).toBe(false)
  const reported = rested(coarse)
  reported.forHours(17, (h) => ({ ...barelyStopped(h), pump: 'run' }))
  expect(reported.isOpen('band-not-reached')).toBe(true)
})

test('no run is timed by a rate above that at which its air is changed', () => {
  // Ten an hour learned from short runs; the pump changes the air of 45 L 0.67 times an hour.
  const line = rested({ kPerH: { low: 10, mid: 12, high: 15 } })
  line.moment = { ...line.moment, settings: { ...line.moment.settings, flowLPerMin: 0.5, volumeL: 45 } }
  line.forHours(6, towards(9))
  expect(line.isOpen('band-not-reached')).toBe(false)
  line.forHours(2, { pct: 9, pump: 'run' })
  expect(line.isOpen('band-not-reached')).toBe(true)
})

test('silent while the air rises: it has not settled', () => {
  const line = rested()
  line.forHours(12, (h) => ({ pct: 9 + 0.6 * h, pump: 'run' }))
  expect(line.isOpen('band-not-reached')).toBe(false)
})

test('with a sensor in whole percents, equal readings have to last until a step would be a slow fall', () => {
  const coarse = { sensor: { sigmaPct: 0.2, stepPct: 1, stuckShare: 0.9 } }
  // Falls a percent in two hours, still on its way.
  const falling = rested(coarse)
  falling.forHours(17, (h) => ({ pct: Math.max(7, Math.round(15.5 - h / 2)), pump: 'run' }))
  expect(falling.isOpen('band-not-reached')).toBe(false)
  const settled = rested(coarse)
  settled.forHours(17, (h) => ({ pct: Math.round(9 + 7 * Math.exp(-1.5 * h)), pump: 'run' }))
  expect(settled.isOpen('band-not-reached')).toBe(true)
})

test('on the wet plateau nothing is timed: the clock starts at its end', () => {
  const line = rested()
  const gate = { isOpen: true, openedAtS: line.atS, movedG: 3, budgetG: 40, expectedH: 8 }
  line.forHours(20, { pct: 92, pump: 'run', with: { wetGate: gate } })
  const fromS = line.atS
  line.forHours(10, (h) => ({ ...towards(9)(h), with: { wetGate: { ...gate, isOpen: false } } }))
  const raised = line.events.find((e) => e.rule === 'band-not-reached')
  expect(((raised?.atS ?? 0) - fromS) / HOUR_S).toBeGreaterThan(NEEDED_H - 0.2)
})

test('hoses that lie open in the hangar are no run, whatever they read', () => {
  const line = rested()
  line.forHours(10, (hour) => ({ ...towards(9)(hour), with: { unhookedAtS: line.atS } }))
  expect(line.events).toEqual([])
})

test('over after one run that ends at stop; a run that ends above it does not count', () => {
  const line = rested()
  line.forHours(8, towards(9))
  line.forHours(2, { pct: 9, pump: 'rest' })
  line.forHours(1, { pct: 9, pump: 'run' })
  line.forHours(1, { pct: 9, pump: 'rest' })
  expect(line.isOpen('band-not-reached')).toBe(true)
  line.forHours(4, (h) => ({ pct: Math.max(6, 15 * Math.exp(-h)), pump: 'run' }))
  line.forHours(0.2, { pct: 6, pump: 'rest' })
  expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
})

test('a gap within the run neither raises nor ends it', () => {
  const line = rested()
  line.forHours(8, towards(9))
  line.forHours(1.5, {})
  line.forHours(1, { pct: 9, pump: 'rest' })
  expect(line.events.map((e) => e.event)).toEqual(['raised'])
})

test('a loop test is no run that ended at stop', () => {
  const line = rested()
  line.forHours(10, towards(9))
  line.forHours(0.5, { pct: 2, pump: 'run', with: { isLoopTest: true } })
  line.forHours(1, { pct: 2.1, pump: 'rest', with: { isLoopTest: false } })
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(['raised band-not-reached'])
})

/** A flight two days ago, then `runs` of half an hour that end at `endPct`, and one that settles at 9 %. */
function afterRuns(runs: number, endPct: number, base = {}): boolean {
  const line = rested({ wettedAtS: 1_767_225_600 - 2 * DAY_S, ...base })
  for (let run = 0; run < runs; run++) {
    line.forHours(0.5, towards(endPct))
    const ended = [{ ...ENDED, fromS: line.atS - HOUR_S / 2, toS: line.atS, endPct }]
    line.step({ pct: 10, pump: 'rest', with: { ended } })
    line.forHours(3, { pct: 12, pump: 'rest' })
  }
  line.forHours(10, towards(9))
  return line.isOpen('band-not-reached')
}

test('a flight explains no run any more once two have come down to stop after it', () => {
  expect(afterRuns(1, 6)).toBe(false)
  expect(afterRuns(2, 6)).toBe(true)
  expect(afterRuns(3, 9)).toBe(false)
  // Beside the engine the box alone is dried in minutes.
  expect(afterRuns(2, 6, { unansweredFlightAtS: 1_767_225_600 - 2 * DAY_S })).toBe(false)
  expect(afterRuns(2, 6, { backAtS: 1_767_225_600 + 5 * HOUR_S })).toBe(false)
})

/** At 30 degC, then by `kPerH` warmer or colder, and the vapour goes as `make` says, % RH at 30 degC. */
function throughADay(make: (hour: number) => number, kPerH: number, hours = 12): boolean {
  const line = rested()
  line.forHours(hours, (hour) => {
    const tempC = 30 + kPerH * hour
    const pct = sameVapour(make(hour) + (25 - make(hour)) * Math.exp(-1.5 * hour), 30, tempC)
    return { pct, sample: { tempC }, pump: 'run' }
  })
  return line.isOpen('band-not-reached')
}

test('air has settled if its vapour has, whatever day and night make of the reading', () => {
  expect(throughADay(() => 9, -1)).toBe(true)
  // Vapour that rises faster still, or is dried away, has not settled.
  expect(throughADay((hour) => 9 + 0.6 * hour, -1)).toBe(false)
  expect(throughADay((hour) => Math.max(2, 14 - 1.5 * hour), -1)).toBe(false)
})

test('a morning that brings the reading to stop is waited for', () => {
  expect(throughADay(() => 11, 1, 8)).toBe(true)
  expect(throughADay(() => 10.5, 1.5, 6.5)).toBe(false)
})

/** Down to 7 % within the hour, then by `perH` an hour: oil and dead ends, on a rig whose slowest rate is 3 /h. */
const toldInATail = (perH: number): boolean => {
  const line = rested({ kPerH: { low: 3, mid: 5, high: 8 } })
  line.forHours(1, (h) => ({ pct: 16 - 9 * h, pump: 'run' }))
  line.forHours(1.6, (h) => ({ pct: 7 - perH * h, pump: 'run' }))
  return line.isOpen('band-not-reached')
}

test('a tail that would bring the air to stop within the time it has taken is left to do so', () => {
  expect([0.55, 0.05].map(toldInATail)).toEqual([false, true])
})

test('what is left of a flight comes out the more slowly the colder it is', () => {
  const told = [15, 0].map((metalTempC) => {
    const line = rested({ wettedAtS: 1_767_225_600 - 6 * DAY_S, metalTempC })
    line.forHours(24, towards(9))
    return line.isOpen('band-not-reached')
  })
  expect(told).toEqual([true, false])
})
