import { expect, test } from 'vitest'
import type { Moment } from '../../../src/core/rules/rule.ts'
import { saturationDensityGm3 } from '../../../src/core/air/vapour.ts'
import { HOUR_S, Line, SETTINGS, drying, rested, sameVapour } from './moment.ts'

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
    line.forHours(1, { pct: 6 + overPct, pump: 'rest' })
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

test('air that comes down by more than noise, heat and a leaking box can do was moved: where it stands is no dead pump', () => {
  expect(toldAfterFall(0)).toEqual(['1.7 raised no-drop now'])
  expect(toldAfterFall(2.5)).toEqual(['4.0 raised band-not-reached visit'])
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
  return line.isOpen('no-drop') || line.isOpen('band-not-reached')
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

/** A run of the day after a flight that came down from 60 to 10 %, then climbs to 36 % within six hours as the hangar cools by `coolsK`. */
const toldWhereItComesBack = (coolsK: number): boolean => {
  const line = new Line({ kPerH: { low: 1, mid: 1.5, high: 2.2 }, wettedAtS: 1_767_225_600 - 12 * HOUR_S })
  line.forHours(2, { pct: 60, pump: 'rest' })
  line.forHours(4, (h) => ({ pct: 10 + 50 * Math.exp(-2 * h), pump: 'run' }))
  line.forHours(6, (h) => ({
    pct: 10 + (26 * h) / 6,
    sample: { tempC: 15 - (coolsK * h) / 6 },
    pump: 'run',
  }))
  line.forHours(2, { pct: 36, sample: { tempC: 15 - coolsK }, pump: 'run' })
  return line.isOpen('no-drop')
}

test('air that comes back to twice its lowest, in RH and in vapour, is not moved any more, though it was', () => {
  // 36 % at -4 degC is less than twice the vapour of 10 % at 15 degC.
  expect([5, 19].map(toldWhereItComesBack)).toEqual([true, false])
})

/** A run near its floor whose air surges to 24 % within the half hour and falls again, as a preheated engine's does; or stays up. */
const toldAfterASurge = (falls: boolean): boolean => {
  const line = rested({ kPerH: { low: 1.2, mid: 1.6, high: 2.2 } })
  line.forHours(1, (h) => ({ pct: Math.max(13, drying(24, 2 * h)), pump: 'run' }))
  line.forHours(0.4, (h) => ({ pct: 13 + 28 * h, pump: 'run' }))
  line.forHours(2.5, (h) => ({ pct: falls ? drying(24, h) + 4 : 24, pump: 'run' }))
  return line.events.some((e) => e.rule === 'no-drop')
}

test('a surge in mid-run that the pump takes down again is none of a dead one', () => {
  expect([true, false].map(toldAfterASurge)).toEqual([false, true])
})

const dayAndNightC = (h: number) => 15 + 4 * Math.sin((2 * Math.PI * h) / 24)

/** Two and a half days of drying in a damp hangar of 15 degC with its nights, by the share `perDay` a day. */
const toldOverDays = (perDay: number): boolean => {
  const line = new Line({
    kPerH: { low: 1, mid: 1.5, high: 2.2 },
    wettedAtS: 1_767_225_600 - 6 * HOUR_S,
    ambientGm3: 12,
    isAmbientMeasured: true,
  })
  line.forHours(2, { pct: 98, pump: 'rest' })
  line.forHours(1, (h) => ({ pct: 98 - 60 * h, pump: 'run' }))
  line.forHours(60, (h) => ({
    pct: 38 * (1 - perDay) ** (h / 24) * (1 - 0.02 * (dayAndNightC(h) - 15)),
    sample: { tempC: dayAndNightC(h) },
    pump: 'run',
  }))
  return line.events.some((e) => e.rule === 'no-drop')
}

test('air that is drier than at the same hour yesterday has not come to rest, whatever the night makes of it', () => {
  expect([0.4, 0.03].map(toldOverDays)).toEqual([false, true])
})

/** Hours after a flight at which a run begins whose air goes from 28 % as `make` says; what is told within nine. */
function toldOnFlightDay(afterH: number, make: (hour: number) => number): boolean {
  const wettedAtS = 1_767_225_600 - afterH * HOUR_S
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS, flightAtS: wettedAtS })
  line.forHours(1, { pct: 28, pump: 'rest' })
  line.forHours(9, (h) => ({ pct: make(h), pump: 'run' }))
  return line.isOpen('no-drop')
}

const falling = (h: number) => 28 * Math.exp(-0.04 * h)

test('water that evaporates more slowly than the pump makes no plateau: air that falls with it is getting drier', () => {
  expect([2, 20].map((afterH) => toldOnFlightDay(afterH, falling))).toEqual([false, false])
  // A pump that moves nothing is told once engine, box and oil have come together.
  expect([2, 20].map((afterH) => toldOnFlightDay(afterH, () => 28))).toEqual([false, true])
})

/** The air of a plateau, then `laterPct` and `laterC` after its end, standing; told within eight hours. */
function toldBelowPlateau(laterPct: number, laterC: number): boolean {
  const wettedAtS = 1_767_225_600 - 14 * HOUR_S
  const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS, flightAtS: wettedAtS })
  line.forHours(1, { pct: 54, sample: { tempC: 20 }, pump: 'rest' })
  const wetGate = { isOpen: true, isProven: false, openedAtS: line.atS, movedG: 5, budgetG: 40, expectedH: 6 }
  line.forHours(4, { pct: 54, sample: { tempC: 20 }, pump: 'run', with: { wetGate } })
  const closed = { wetGate: { ...wetGate, isOpen: false } }
  line.forHours(8, { pct: laterPct, sample: { tempC: laterC }, pump: 'run', with: closed })
  return line.isOpen('no-drop')
}

test('air that has left its plateau behind was moved, and is waited for as such', () => {
  expect(toldBelowPlateau(37, 19)).toBe(false)
  expect(toldBelowPlateau(53, 19)).toBe(true)
})

test('a gap takes nothing from what is known of the run that goes on after it', () => {
  const told = [false, true].map((isMoved) => {
    const wettedAtS = 1_767_225_600 - 14 * HOUR_S
    const line = new Line({ kPerH: { low: 0.6, mid: 1, high: 1.6 }, wettedAtS, flightAtS: wettedAtS })
    line.forHours(2, { pct: isMoved ? 67 : 40, pump: 'rest' })
    line.forHours(6, (h) => ({ pct: isMoved ? 40 + 27 * Math.exp(-2 * h) : 40, pump: 'run' }))
    line.forHours(1, { with: { isGap: true } })
    line.forHours(6.5, { pct: 40, pump: 'run', with: { isGap: false } })
    return line.isOpen('no-drop')
  })
  expect(told).toEqual([true, false])
})
