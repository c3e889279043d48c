import { expect, test } from 'vitest'
import type { Moment } from '../../../src/core/rules/rule.ts'
import { saturationDensityGm3 } from '../../../src/core/air/vapour.ts'
import { HOUR_S, Line, SETTINGS, sameVapour } from './moment.ts'

/** Air in a rig in order: down to 2 % with k = 1.5 /h, from what the surge brought. */
const drying = (fromPct: number, hour: number) => 2 + (fromPct - 2) * Math.exp(-1.5 * hour)

function rested(base = {}): Line {
  const line = new Line(base)
  line.forHours(2, { pct: 15, pump: 'rest' })
  return line
}

const toldBesideTheEngine = (basis: 'inferred' | 'reported') => {
  const line = rested({ pump: { state: 'rest', basis, sinceS: null } })
  const landed = { flightAtS: line.atS - HOUR_S, unansweredFlightAtS: line.atS - HOUR_S }
  line.forHours(60, { pct: 19, pump: 'run', with: landed })
  return line.open.map(({ rule, urgency }) => `${rule} ${urgency}`)
}

const toldWithSpentBeads = (fromPct: number) => {
  const line = rested()
  const { atS } = line
  line.memory.open.push({
    rule: 'beads-spent',
    urgency: 'visit',
    sinceS: atS,
    raisedAtS: atS,
    evidence: {},
  })
  line.forHours(2, (h) => ({ pct: Math.max(8, drying(fromPct, h)), pump: 'run' }))
  line.forHours(12, (h) => ({ pct: Math.min(fromPct, 8 + 6 * h), pump: 'run' }))
  return line.events.some((e) => e.rule === 'no-drop')
}

const toldWithNoise = (sigmaPct: number) => {
  const line = rested({
    kPerH: { low: 0.37, mid: 2, high: 12 },
    sensor: { sigmaPct, stepPct: 0.1, stuckShare: 0.995 },
  })
  const fromS = line.atS
  line.forHours(24, { pct: 15, pump: 'run' })
  return line.story(fromS)
}

test('a pump that dries the air is never called dead', () => {
  const line = rested()
  line.forHours(8, (h) => ({ pct: Math.max(6.2, drying(16, h)), pump: 'run' }))
  expect(line.events).toEqual([])
})

test('a pump that moves nothing is raised as soon as the slowest drying this rig has taught would show, and since when it ran', () => {
  const line = rested()
  const fromS = line.atS
  line.forHours(6, { pct: 15, pump: 'run' })
  expect(line.story(fromS)).toEqual(['1.7 raised no-drop now'])
  const raised = line.events[0]
  expect(raised?.sinceS).toBe(fromS + 300)
  expect(raised?.evidence).toMatchObject({
    by: 'drop',
    fromPct: 15,
    nowPct: 15,
    tempC: 15,
    runFromS: fromS + 300,
  })
})

test('before the drying rate is learned it takes until the slowest rig would show more than the noise', () => {
  expect(toldWithNoise(0.1)).toEqual(['1.7 raised no-drop now'])
  expect(toldWithNoise(1)).toEqual(['4.0 raised no-drop now'])
})

test.each([
  // Rates 4 standard deviations below the median of such a rig, at -10 degC.
  ['the slowest working pump is not called dead', 0.08, 24, []],
  ['a dead one is told within 12 h', 0, 12, ['raised no-drop']],
])('in the cold, where three time constants take 28 h: %s', (_, perH, hours, events) => {
  const cold = { tempC: -10 }
  const line = new Line({ kPerH: { low: 0.6, mid: 1.5, high: 3.75 }, metalTempC: -10 })
  line.forHours(2, { pct: 15, sample: cold, pump: 'rest' })
  line.forHours(hours, (h) => ({
    pct: Math.max(6.2, 2 + 13 * Math.exp(-perH * h)),
    sample: cold,
    pump: 'run',
  }))
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(events)
})

test('floors scatter, but a rig that reaches stop has none above it: a reference just over stop tells', () => {
  const line = new Line({ floorGm3: null })
  line.floorPct = { mid: 8, high: 14 }
  line.forHours(2, { pct: 15, pump: 'rest' })
  line.forHours(6, { pct: 15, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
})

test('beads that send back what they took are no dead pump where that is known, in a run that came down', () => {
  expect(toldWithSpentBeads(60)).toBe(false)
  // This one never came down to half.
  expect(toldWithSpentBeads(15)).toBe(true)
})

test('after a flight nobody answered, an inferred run may be a rig that lies beside the engine: left-off says so', () => {
  expect(toldBesideTheEngine('inferred')).toEqual(['left-off visit'])
  expect(toldBesideTheEngine('reported')).toContain('no-drop now')
})

/** Air that comes down to `lowPct` within half an hour and stands there while a warm day adds to its water. */
const toldAfterComingDown = (basis: 'inferred' | 'reported', lowPct: number) => {
  const line = rested({
    pump: { state: 'rest', basis, sinceS: null },
    kPerH: { low: 0.6, mid: 1, high: 1.6 },
  })
  line.forHours(0.5, (h) => ({ pct: 16 - 2 * (16 - lowPct) * h, pump: 'run' }))
  line.forHours(10, (h) => ({ pct: lowPct, sample: { tempC: 15 + h }, pump: 'run' }))
  return line.isOpen('no-drop')
}

test('an inferred run that has been low in the band may have ended unseen: a warm day that keeps it there is no dead pump', () => {
  expect(toldAfterComingDown('inferred', 9)).toBe(false)
  expect(toldAfterComingDown('reported', 9)).toBe(true)
  expect(toldAfterComingDown('inferred', 12)).toBe(true)
})

test('a box that the pump warms by 6 K hides a dead pump in RH, not in vapour density', () => {
  const line = rested()
  line.forHours(8, (h) => {
    const tempC = 15 + 6 * (1 - Math.exp(-2 * h))
    return { pct: sameVapour(15, 15, tempC), sample: { tempC }, pump: 'run' }
  })
  expect(line.isOpen('no-drop')).toBe(true)
})

test('a hangar that cools by 10 K overnight hides it in vapour density, not in RH', () => {
  const line = rested()
  line.forHours(9, (h) => ({ pct: 15, sample: { tempC: 15 - h * 1.1 }, pump: 'run' }))
  expect(line.isOpen('no-drop')).toBe(true)
})

test('a working pump in a hangar that warms by 12 K is not called dead', () => {
  const line = rested()
  line.forHours(9, (h) => ({ pct: 7 + 9 * Math.exp(-1.2 * h), sample: { tempC: 15 + 1.3 * h }, pump: 'run' }))
  expect(line.events.filter((e) => e.rule === 'no-drop')).toEqual([])
})

test('on the wet plateau it cannot tell, and says so; the wait starts when the plateau ends', () => {
  const line = rested()
  const wet = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 6 }
  line.forHours(20, { pct: 95, pump: 'run', with: { wetGate: wet } })
  expect(line.events).toEqual([])
  expect(line.memory.unknown.find((u) => u.what === 'no-drop')?.why).toContain(
    'cannot be told from evaporation',
  )
  const fromS = line.atS
  line.forHours(4, { pct: 30, pump: 'run', with: { wetGate: { ...wet, isOpen: false } } })
  expect(line.story(fromS).at(0)).toBe('3.7 raised no-drop now')
})

test('over once the air comes down half way, not before', () => {
  const line = rested()
  line.forHours(6, { pct: 15, pump: 'run' })
  line.forHours(2, { pct: 12, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
  const over = line.forHours(2, (h) => ({ pct: Math.max(6, drying(12, h)), pump: 'run' }))
  expect(over.map((e) => e.event)).toEqual(['over'])
  expect(over[0]?.evidence).toMatchObject({ endedBy: 'drop' })
})

function toldWhereItSettles(settlesPct: number): boolean {
  const line = new Line()
  line.forHours(2, { pct: 60, pump: 'rest' })
  line.forHours(14, (h) => ({ pct: settlesPct + (60 - settlesPct) * Math.exp(-1.5 * h), pump: 'run' }))
  return line.isOpen('no-drop')
}

test('a run that came half the way and stands still far above the band is told; on a floor that oil lifts it is not', () => {
  expect([32, 20].map(toldWhereItSettles)).toEqual([true, false])
})

test('neither a gap nor rests end it, and it is raised once', () => {
  const line = rested()
  line.forHours(6, { pct: 15, pump: 'run' })
  line.forHours(1.5, {})
  line.forHours(3, { pct: 15, pump: 'rest' })
  line.forHours(9, { pct: 15, pump: 'run' })
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(['raised no-drop'])
})

test.each([
  ['a motor that draws a tenth', 0.4, 'raised no-drop'],
  ['a motor that stalls at three times its power', 12, 'raised no-drop'],
  ['a meter that is 20 % off', 4.8, undefined],
])('%s is told by its power within the hour', (_, powerW, first) => {
  const line = rested({ pumpPowerW: 4, kPerH: { low: 0.37, mid: 2, high: 12 } })
  const fromS = line.atS
  line.forHours(1, (h) => ({ pct: drying(15, h), sample: { powerW, pumpOn: true }, pump: 'run' }))
  const [event] = line.events
  expect(event && `${event.event} ${event.rule}`).toBe(first)
  if (event) expect(event.atS - fromS).toBeLessThanOrEqual(HOUR_S)
})

test.each([0, 1, 2, 3])(
  'mended, it is over once and stays over, wherever the readings were counted from: %s',
  (late) => {
    const line = rested()
    line.forHours(6 + late / 12, { pct: 15, pump: 'run' })
    expect(line.isOpen('no-drop')).toBe(true)
    line.forHours(2, { pct: 6.5, pump: 'run' })
    expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
  },
)

test('right after a landing only the meter tells: a motor that draws nothing, at once', () => {
  const toldAfterLanding = [0.3, null].map((powerW) => {
    const line = rested({ pumpPowerW: 4, suspended: 'flight' })
    line.forHours(3, { pct: 15, sample: { powerW, pumpOn: true }, pump: 'run' })
    return line.isOpen('no-drop')
  })
  expect(toldAfterLanding).toEqual([true, false])
})

test('a plateau that nothing proved is told by a day and a half; in a saturated box soon after its time is over', () => {
  const told = [false, true].map((isStagnant) => {
    const line = rested({ kPerH: { low: 0.1, mid: 0.3, high: 1 } })
    const open = { isOpen: true, isProven: false, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 6 }
    line.forHours(30, { pct: 80, pump: 'run', with: { wetGate: open } })
    const fromS = line.atS
    const wetGate = { ...open, isOpen: false, isTimedOut: true, isStagnant }
    line.forHours(6, { pct: 80, pump: 'run', with: { wetGate } })
    return line.story(fromS)
  })
  expect(told).toEqual([['3.7 raised no-drop now'], ['1.7 raised no-drop now']])
})

test('told by power, it ends when the power is normal again', () => {
  const line = rested({ pumpPowerW: 4 })
  line.forHours(1, { pct: 15, sample: { powerW: 0.3, pumpOn: true }, pump: 'run' })
  line.forHours(0.5, { pct: 15, sample: { powerW: 4.1, pumpOn: true }, pump: 'run' })
  expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
})

test('readings too coarse for the span between reference and floor judge nothing', () => {
  const line = rested({ sensor: { sigmaPct: 3, stepPct: 1, stuckShare: 0.9 } })
  line.forHours(12, { pct: 15, pump: 'run' })
  expect(line.events.filter((e) => e.rule === 'no-drop')).toEqual([])
})

/** Down from a wet plateau to 26 %, where the gate closes, and from there on towards 3 % at `tailPerH`. */
function toldOnTail(tailPerH: number, isCut = false) {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS: 1_767_225_600 })
  line.forHours(2, { pct: 60, pump: 'rest' })
  const wetGate = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 1 }
  line.forHours(1, (h) => ({ pct: 90 - 64 * h, pump: 'run', with: { wetGate } }))
  const closed = { wetGate: { ...wetGate, isOpen: false } }
  const tail = (h: number) => 3 + 23 * Math.exp(-tailPerH * h)
  line.forHours(6, (h) => ({ pct: tail(h), pump: 'run', with: closed }))
  if (isCut) line.step({ pct: tail(6), pump: 'rest' })
  line.forHours(21, (h) => ({ pct: tail(6 + h), pump: 'run', with: closed }))
  expect(line.events.filter((e) => e.rule === 'no-drop')).toEqual([])
  line.forHours(6, (h) => ({ pct: tail(27 + h), pump: 'run', with: closed }))
  return line.events.some((e) => e.rule === 'no-drop')
}

test('oil that gives back its water for hours after a flight is no dead pump; air that stops falling is', () => {
  expect([0.12, 0.05, 0].map((tailPerH) => toldOnTail(tailPerH))).toEqual([false, false, true])
})

test('nor is the water of drops that hold the air up far below saturation: a run that has come a third of the way has a pump', () => {
  const told = [36, 66].map((hours) => {
    const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS: 1_767_225_600 })
    line.forHours(2, { pct: 60, pump: 'rest' })
    line.forHours(hours - 8, (h) => ({ pct: 36 + 24 * Math.exp(-1.5 * h), pump: 'run' }))
    return line.isOpen('no-drop')
  })
  expect(told).toEqual([false, true])
})

test('a run that a restart of the hub cuts in two is the drying of one', () => {
  expect([0.12, 0.05, 0].map((tailPerH) => toldOnTail(tailPerH, true))).toEqual([false, false, true])
})

test('air that hovers just over what spent beads send back has no way to come down', () => {
  const told = [2, 6].map((overPct) => {
    const line = rested()
    line.floorPct = { mid: 4, high: 5.5 }
    line.forHours(8, { pct: 5.5 + overPct, pump: 'run' })
    return line.isOpen('no-drop')
  })
  expect(told).toEqual([false, true])
})

/** Air that falls from 14 % by `fallPct` in the first hour and a half, and then no further. */
function toldAfterFall(fallPct: number, more: Partial<Moment> = {}) {
  const line = rested({ ...more })
  const fromS = line.atS
  line.forHours(12, (h) => ({ pct: 14 - fallPct * Math.min(1, h / 1.5), pump: 'run' }))
  return line.story(fromS)
}

test('air that comes down by more than noise, heat and a leaking box can do was moved: it is waited for anew from there', () => {
  expect(toldAfterFall(0)).toEqual(['1.7 raised no-drop now'])
  expect(toldAfterFall(2.5)).toEqual(['2.9 raised no-drop now'])
})

test('towards a hangar that is drier than the box the same fall may be its leak', () => {
  const desert = { ambientGm3: 0, ambientPct: 0, isAmbientMeasured: true }
  expect(toldAfterFall(2.5, desert)).toEqual(['1.7 raised no-drop visit'])
})

test('a hot engine warms its box: the floor of a wait that begins once it is cool is no warmer', () => {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS: 1_767_225_600 })
  line.floorPct = { mid: 5, high: 6 }
  line.forHours(1, { pct: 60, sample: { tempC: 17 }, pump: 'rest' })
  const wetGate = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 1 }
  line.forHours(8, { pct: 90, sample: { tempC: 17 }, pump: 'run', with: { wetGate } })
  const closed = { wetGate: { ...wetGate, isOpen: false } }
  line.forHours(12, (h) => ({
    pct: 6 + 18 * Math.exp(-0.08 * h),
    sample: { tempC: 2 },
    pump: 'run',
    with: closed,
  }))
  expect(line.events.some((e) => e.rule === 'no-drop')).toBe(false)
})

test('the drop that shows a rig to be back after a flight counts, though nothing was judged until then', () => {
  const inferred = { basis: 'inferred' as const, state: 'rest' as const, sinceS: null }
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, pump: inferred, wettedAtS: 1_767_225_600 })
  line.forHours(1, { pct: 14, pump: 'rest' })
  const { atS } = line
  line.forHours(2, (h) => ({ pct: 90 - 36 * h, pump: 'run', with: { unansweredFlightAtS: atS - 3600 } }))
  line.forHours(24, (h) => ({
    pct: 4 + 14 * Math.exp(-0.05 * h),
    pump: 'run',
    with: { unansweredFlightAtS: null },
  }))
  expect(line.events.some((e) => e.rule === 'no-drop')).toBe(false)
})

/** Air that came down from a wet plateau to 22 % and then gains `perH` of its water an hour in a box that warms by 0.5 K an hour. */
function toldWhereItClimbs(perH: number): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS: 1_767_225_600 })
  line.forHours(1, { pct: 60, pump: 'rest' })
  const wetGate = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 1 }
  line.forHours(1, (h) => ({ pct: 90 - 68 * h, pump: 'run', with: { wetGate } }))
  const closed = { wetGate: { ...wetGate, isOpen: false } }
  line.forHours(12, (h) => {
    const tempC = 15 + 0.5 * h
    return { pct: sameVapour(22, 15, tempC) * (1 + perH * h), sample: { tempC }, pump: 'run', with: closed }
  })
  return line.isOpen('no-drop')
}

test('in a box that warms, air that stands still may be oil that gives back; air that climbs above the limit is told', () => {
  expect([0.01, 0.1].map(toldWhereItClimbs)).toEqual([false, true])
})

/** Air that came down from a plateau to 22 % at `tempOf(0)`, and goes on as told. */
function toldInACoolingNight(tempOf: (h: number) => number | null, pctOf: (h: number) => number): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS: 1_767_225_600 })
  line.forHours(1, { pct: 60, sample: { tempC: tempOf(0) }, pump: 'rest' })
  const wetGate = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 1 }
  const sample = { tempC: tempOf(0) }
  line.forHours(1, (h) => ({ pct: 90 - 68 * h, sample, pump: 'run', with: { wetGate } }))
  const closed = { wetGate: { ...wetGate, isOpen: false } }
  line.forHours(12, (h) => ({ pct: pctOf(h), sample: { tempC: tempOf(h) }, pump: 'run', with: closed }))
  return line.isOpen('no-drop')
}

const cooling = (h: number) => 15 - h
const unknown = () => null

test('in a night that cools, air whose RH climbs while its vapour thins has not become wetter', () => {
  expect(toldInACoolingNight(cooling, (h) => sameVapour(22, 15, cooling(h)) * (1 - 0.01 * h))).toBe(false)
  expect(toldInACoolingNight(cooling, (h) => sameVapour(22, 15, cooling(h)) * (1 + 0.06 * h))).toBe(true)
})

test('without a temperature what a night of 10 K does to the RH of the same vapour is no climb, more is', () => {
  expect(toldInACoolingNight(unknown, (h) => 22 + h)).toBe(false)
  expect(toldInACoolingNight(unknown, (h) => 22 + 3 * h)).toBe(true)
})

/** Air that came down to 36 % and stands there, on metal of `metalC`; `hours` after the flight. */
const toldBehindDrops = (metalC: number, hours: number): boolean => {
  const line = new Line({
    kPerH: { low: 1.6, mid: 2, high: 2.5 },
    wettedAtS: 1_767_225_600,
    metalTempC: metalC,
  })
  line.forHours(2, { pct: 60, pump: 'rest' })
  line.forHours(hours - 8, (h) => ({ pct: 36 + 24 * Math.exp(-1.5 * h), pump: 'run' }))
  return line.isOpen('no-drop')
}

test('drops, films and oil give back their water more slowly in the cold, as the saturated density', () => {
  expect([66, 100].map((hours) => toldBehindDrops(15, hours))).toEqual([true, true])
  expect([66, 100].map((hours) => toldBehindDrops(0, hours))).toEqual([false, true])
})

/** Air that came down from a plateau to 22 %, under what oil can lift a floor to, and stands there; `days` after the flight. */
function toldWhereItStands(days: number, isDried = false): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 } })
  const wetted = { wettedAtS: line.atS - days * 86_400 }
  line.forHours(1, { pct: 60, pump: 'rest', with: wetted })
  const wetGate = { isOpen: true, isProven: true, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 1 }
  line.forHours(1, (h) => ({ pct: 90 - 68 * h, pump: 'run', with: { wetGate } }))
  const closed = { wetGate: { ...wetGate, isOpen: false }, driedAtS: isDried ? line.atS : null }
  line.forHours(12, { pct: 22, pump: 'run', with: closed })
  return line.isOpen('no-drop')
}

test('oil explains air that stands inside the band for three days after a flight, not for longer', () => {
  expect([1, 4].map((days) => toldWhereItStands(days))).toEqual([false, true])
})

test('after a plateau that lasted for days it explains it for one more', () => {
  expect(toldWhereItStands(4, true)).toBe(false)
})

/** A plateau at 60 % is given up after eight hours; in the next five its air falls by `perH` of itself an hour. */
function toldAfterGivenUp(perH: number): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 } })
  line.forHours(1, { pct: 60, pump: 'rest' })
  const wetGate = { isOpen: true, isProven: false, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 1 }
  line.forHours(8, { pct: 60, pump: 'run', with: { wetGate } })
  const givenUp = { wetGate: { ...wetGate, isOpen: false, isTimedOut: true } }
  line.forHours(5, (h) => ({ pct: 60 * (1 - perH * h), pump: 'run', with: givenUp }))
  return line.events.some((e) => e.rule === 'no-drop')
}

test('after a plateau that was given up air that goes on standing is told, air that has begun to fall is waited for', () => {
  expect([0, 0.07].map(toldAfterGivenUp)).toEqual([true, false])
})

test('a loop test does not end it: the air straight from the beads is none that went round', () => {
  const line = rested()
  line.forHours(3, { pct: 15, pump: 'run' })
  line.forHours(0.5, { pct: 2, pump: 'run', with: { isLoopTest: true } })
  line.forHours(3, { pct: 15, pump: 'run', with: { isLoopTest: false } })
  expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual(['raised no-drop'])
})

/** Stands at 30 % until three days after the flight, falls to 8 % within `hours`, and stands after the next flight for two. */
function toldAgainAfter(hours: number, daysLater = 2): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS: 1_767_225_600 })
  line.forHours(2, { pct: 30, pump: 'rest' })
  line.forHours(72, { pct: 30, pump: 'run' })
  expect(line.isOpen('no-drop')).toBe(true)
  line.forHours(hours + 1, (h) => ({ pct: Math.max(8, 30 - (22 * h) / hours), pump: 'run' }))
  line.forHours(3, { pct: 6, pump: 'rest' })
  expect(line.isOpen('no-drop')).toBe(false)
  const wettedAtS = line.atS
  line.forHours(1, { pct: 60, pump: 'rest', with: { wettedAtS } })
  line.forHours(24 * daysLater, { pct: 30, pump: 'run' })
  return line.isOpen('no-drop')
}

test('an engine that stayed wet for days and then dried by itself is given as long the next time; a mended pump teaches nothing', () => {
  expect(toldAgainAfter(12)).toBe(false)
  expect(toldAgainAfter(12, 5.5)).toBe(true)
  expect(toldAgainAfter(0.2)).toBe(true)
})

const coolingC = (h: number) => 8 + 27 * Math.exp(-h / 3)

/** What air of 29 % at 35 degC becomes where it stands, with three times its water at 15 degC in the walls, % RH. */
function stillPct(tempC: number): number {
  const heldGm3 = 3 * saturationDensityGm3(15)
  return (29 * (saturationDensityGm3(35) + heldGm3)) / (saturationDensityGm3(tempC) + heldGm3)
}

/** A hot engine cools from 35 to 8 degC while its air reads `pctOf` its temperature. */
function toldInACoolingEngine(sensorSits: 'box' | 'engine', pctOf: (tempC: number) => number): boolean {
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, settings: { ...SETTINGS, sensorSits } })
  const wetted = { wettedAtS: line.atS, flightAtS: line.atS }
  line.forHours(1, { pct: 29, sample: { tempC: 35 }, pump: 'rest', with: wetted })
  line.forHours(24, (h) => ({ pct: pctOf(coolingC(h)), sample: { tempC: coolingC(h) }, pump: 'run' }))
  return line.isOpen('no-drop')
}

test("a cooling engine whose RH stands has lost water, even with three times the air's own in its walls", () => {
  expect(toldInACoolingEngine('engine', () => 29)).toBe(false)
  expect(toldInACoolingEngine('box', () => 29)).toBe(true)
  expect(toldInACoolingEngine('engine', stillPct)).toBe(true)
})
