import { expect, test } from 'vitest'
import type { GatePoint } from '../../../src/core/trace/gate-air.ts'
import {
  noticeEngineRun,
  resumeGateRun,
  startGateRun,
  takeGatePoint,
} from '../../../src/core/trace/wet-gate.ts'
import { startWetGate } from '../../../src/core/trace/wet-gate-memory.ts'

const HOUR_S = 3600

const POINT: GatePoint = {
  atS: 0,
  humidityPct: 12,
  isNew: true,
  unwarmedPct: 12,
  startPct: 15,
  sigmaPct: 0.2,
  movedG: 0.1,
  expectedS: 8 * HOUR_S,
  evaporatingShare: 0.9,
  isInEngine: false,
  isSaidInEngine: false,
  isInBox: true,
  isMetalMeasured: true,
  hangarPct: 60,
  isHangarMeasured: true,
  isPumpInferred: false,
  isUnhooked: false,
  areFlightsLogged: true,
}

/** A gate that nothing has made eligible, and a run whose air jumps from 12 % to what `more` says. */
function jump(more: Partial<GatePoint>) {
  const gate = startWetGate(0)
  gate.eligibleFromS = null
  startGateRun(gate, 12, 0)
  for (let atS = 300; atS <= 2 * HOUR_S; atS += 300) {
    const unwarmedPct = more.humidityPct ?? POINT.humidityPct
    takeGatePoint(gate, { ...POINT, unwarmedPct, ...more, atS })
  }
  return gate
}

test.each([
  ['air far wetter than the hangar is a flight that nobody logged', { humidityPct: 95 }, true],
  ['air as wet as a damp hangar is a loop that came open', { humidityPct: 90, hangarPct: 88 }, false],
  ['and so is air that two sensors may read a little wetter', { humidityPct: 84, hangarPct: 73 }, false],
  [
    'the same where the hangar is only known by its climate',
    { humidityPct: 95, hangarPct: 80, isHangarMeasured: false },
    false,
  ],
  ['a dry climate leaves no doubt', { humidityPct: 95, hangarPct: 45, isHangarMeasured: false }, true],
  ['too dry for an engine with water in it', { humidityPct: 75, hangarPct: 40 }, false],
])('without an entry, %s', (_, more, isOpen) => {
  expect(jump(more).isOpen).toBe(isOpen)
})

/** A plateau with proven flow that falls to `share` of saturation at the metal. */
function fallTo(share: number, isMetalMeasured: boolean): boolean {
  const gate = jump({ humidityPct: 95, isMetalMeasured })
  expect(gate.isProven).toBe(true)
  takeGatePoint(gate, {
    ...POINT,
    atS: 2.5 * HOUR_S,
    humidityPct: 60,
    evaporatingShare: share,
    isMetalMeasured,
  })
  return gate.isOpen
}

test('a box that the pump warms makes the metal look too warm: the plateau is held lower there', () => {
  expect(fallTo(0.3, true)).toBe(false)
  expect(fallTo(0.3, false)).toBe(true)
  expect(fallTo(0.2, false)).toBe(false)
})

test('in a warm box, air that is saturated at the metal reads little over the band: it has not dried', () => {
  const held = (humidityPct: number, evaporatingShare: number | null) => {
    const gate = jump({ humidityPct: 95 })
    takeGatePoint(gate, { ...POINT, atS: 2.5 * HOUR_S, humidityPct, evaporatingShare, isMetalMeasured: true })
    return gate.isOpen
  }
  expect(held(1.4 * POINT.startPct, 0.9)).toBe(true)
  expect(held(1.4 * POINT.startPct, 0.3)).toBe(false)
  expect(held(1.4 * POINT.startPct, null)).toBe(1.4 * POINT.startPct >= 30)
  expect(held(POINT.startPct, 0.9)).toBe(false)
})

test('a small pool under a strong pump holds its plateau at under half of saturation', () => {
  expect(fallTo(0.45, true)).toBe(true)
})

/** After a flight, from a box at 63 % to air of twice the vapour that the pump's heat makes read only 66 %. */
function hookUp(more: Partial<GatePoint>) {
  const gate = startWetGate(0)
  startGateRun(gate, 63, 0)
  for (let atS = 300; atS <= 31 * HOUR_S; atS += 300) {
    takeGatePoint(gate, { ...POINT, humidityPct: 66, unwarmedPct: 66, movedG: 0.01, ...more, atS })
  }
  return gate
}

test('the heat of the pump hides no rise', () => {
  expect(hookUp({ unwarmedPct: 105 })).toMatchObject({ isOpen: true, isProven: true })
})

/** Damp that creeps up by 30 % an hour, of which the reading shows a share and the heat of the pump hides the rest. */
function creep(share: number) {
  const gate = startWetGate(0)
  startGateRun(gate, 63, 0)
  for (let atS = 300; atS <= 1.25 * HOUR_S; atS += 300) {
    const unwarmedPct = 63 + (30 * atS) / HOUR_S
    const humidityPct = 63 + share * (unwarmedPct - 63)
    takeGatePoint(gate, { ...POINT, humidityPct, unwarmedPct, atS })
  }
  return gate
}

test('damp that creeps up is no moved air, and if only the heat of the pump makes it so, it says nothing', () => {
  expect(creep(1).isOpen).toBe(false)
  expect(creep(0)).toMatchObject({ isOpen: true, isProven: false })
})

test('a rise that was clipped at 100 % has no shape: it is neither moved air nor damp that creeps', () => {
  const gate = startWetGate(0)
  startGateRun(gate, 78, 0)
  for (let atS = 300; atS <= 2 * HOUR_S; atS += 300) {
    const unwarmedPct = Math.min(88 + (atS > 900 ? 12 : 0) + (8 * atS) / HOUR_S, 116)
    const humidityPct = Math.min(100, atS > 2400 ? 95 : unwarmedPct)
    takeGatePoint(gate, { ...POINT, humidityPct, unwarmedPct, atS })
  }
  expect(gate).toMatchObject({ isOpen: true, isProven: false, isShapeDue: false })
})

test('nor has one that went on with the warmth of the day once the box was full', () => {
  const gate = startWetGate(0)
  startGateRun(gate, 92, 0)
  for (let atS = 300; atS <= 2 * HOUR_S; atS += 300) {
    // Two kelvin an hour: what the air holds beyond the box of the start has come with the engine's warmth.
    const unwarmedPct = 101 + (12 * atS) / HOUR_S
    takeGatePoint(gate, { ...POINT, humidityPct: 97.5, unwarmedPct, atS })
  }
  expect(gate).toMatchObject({ isOpen: true, isProven: false, isShapeDue: false })
})

test('a hub that shows the first reading of a rise for a quarter of an hour has not shown that it creeps', () => {
  const gate = startWetGate(0)
  startGateRun(gate, 12, 0)
  for (let atS = 300; atS <= 1.25 * HOUR_S; atS += 300) {
    const humidityPct = atS <= 1200 ? 40 : 80
    takeGatePoint(gate, {
      ...POINT,
      atS,
      humidityPct,
      unwarmedPct: humidityPct,
      isNew: atS === 300 || atS > 1200,
    })
  }
  expect(gate).toMatchObject({ isOpen: true, isProven: true })
})

test('a sensor that is put back into a wet engine has proved no flow', () => {
  expect(jump({ humidityPct: 95 }).isProven).toBe(true)
  const gate = jump({ humidityPct: 95, isInEngine: true })
  expect(gate).toMatchObject({ isOpen: true, isProven: false })
  takeGatePoint(gate, {
    ...POINT,
    isInEngine: true,
    humidityPct: 14,
    evaporatingShare: 0.14,
    atS: 9 * HOUR_S,
  })
  expect(gate).toMatchObject({ isOpen: false, flightsKnown: 1 })
})

test('a plateau without a rise is believed for 30 h; inside an engine in the cold for as long as its water takes', () => {
  expect(hookUp({}).isOpen).toBe(false)
  expect(hookUp({ expectedS: 40 * HOUR_S }).isOpen).toBe(false)
  expect(hookUp({ expectedS: 40 * HOUR_S, isInEngine: true }).isOpen).toBe(true)
})

test('without a temperature an open gate holds through the warmth of a day', () => {
  const gate = jump({ humidityPct: 95, evaporatingShare: null })
  takeGatePoint(gate, { ...POINT, atS: 3 * HOUR_S, humidityPct: 36, evaporatingShare: null })
  expect(gate.isOpen).toBe(true)
  takeGatePoint(gate, { ...POINT, atS: 4 * HOUR_S, humidityPct: 28, evaporatingShare: null })
  expect(gate.isOpen).toBe(false)
})

test('the water of a plateau that was given up and then dried is expected the next time; mended in a run of its own it is not', () => {
  const learned = [false, true].map((isNewRun) => {
    const gate = startWetGate(0)
    const point = { ...POINT, humidityPct: 66, unwarmedPct: 66, movedG: 0.05 }
    startGateRun(gate, 63, 0)
    for (let atS = 300; atS <= 40 * HOUR_S; atS += 300) takeGatePoint(gate, { ...point, atS })
    if (isNewRun) startGateRun(gate, 63, 40 * HOUR_S)
    takeGatePoint(gate, {
      ...point,
      humidityPct: 10,
      unwarmedPct: 10,
      evaporatingShare: 0.1,
      atS: 41 * HOUR_S,
    })
    return {
      outlastedH: (gate.outlastedS ?? 0) / HOUR_S,
      isMoreThanTimedOut: gate.largestG > (30 * HOUR_S * 0.05) / 300,
    }
  })
  expect(learned).toEqual([
    { outlastedH: 41, isMoreThanTimedOut: true },
    { outlastedH: 0, isMoreThanTimedOut: false },
  ])
})

test('a rig whose plateau outlasted thirty hours in the cold once is given the time that the cold takes', () => {
  const open = [null, 41 * HOUR_S].map((outlastedS) => {
    const gate = { ...startWetGate(0), outlastedS }
    startGateRun(gate, 63, 0)
    const point = { ...POINT, humidityPct: 66, unwarmedPct: 66, movedG: 0.05, expectedS: 30 * HOUR_S }
    for (let atS = 300; atS <= 40 * HOUR_S; atS += 300) takeGatePoint(gate, { ...point, atS })
    return gate.isOpen
  })
  expect(open).toEqual([false, true])
})

test('where no temperature tells how cold it is, as much time as it took the last time, and half as much again', () => {
  const gate = { ...startWetGate(0), outlastedS: 34 * HOUR_S }
  startGateRun(gate, 63, 0)
  const point = { ...POINT, humidityPct: 66, unwarmedPct: 66, evaporatingShare: null, movedG: 0.01 }
  const openAt = [50, 52].map((hours) => {
    for (let atS = 300; atS <= hours * HOUR_S; atS += 300) takeGatePoint(gate, { ...point, atS })
    return gate.isOpen
  })
  expect(openAt).toEqual([true, false])
})

test('a plateau that was given up and goes on after a gap still teaches when it dries', () => {
  const gate = startWetGate(0)
  const point = { ...POINT, humidityPct: 66, unwarmedPct: 66, movedG: 0.01 }
  startGateRun(gate, 63, 0)
  for (let atS = 300; atS <= 40 * HOUR_S; atS += 300) takeGatePoint(gate, { ...point, atS })
  expect(gate.isTimedOut).toBe(true)
  resumeGateRun(gate, 66, 40 * HOUR_S)
  takeGatePoint(gate, { ...point, humidityPct: 10, unwarmedPct: 10, evaporatingShare: 0.1, atS: 41 * HOUR_S })
  expect(gate.outlastedS).toBe(41 * HOUR_S)
})

/** Air that leaps to what a damp hangar may have, three times; what each of them ends at, % RH; whether the gate opened. */
function leaps(endPct: readonly number[], more: Partial<GatePoint> = {}): boolean[] {
  const gate = startWetGate(0)
  gate.eligibleFromS = null
  return endPct.map((pct, index) => {
    const fromS = index * 24 * HOUR_S
    startGateRun(gate, 12, fromS)
    const wet = {
      ...POINT,
      humidityPct: 75,
      unwarmedPct: 75,
      hangarPct: 80,
      areFlightsLogged: false,
      ...more,
    }
    for (let atS = 300; atS <= 2 * HOUR_S; atS += 300) takeGatePoint(gate, { ...wet, atS: fromS + atS })
    const { isOpen } = gate
    const dried = { ...wet, humidityPct: pct, unwarmedPct: pct, evaporatingShare: pct / 100 }
    takeGatePoint(gate, { ...dried, atS: fromS + 3 * HOUR_S })
    return isOpen
  })
}

test('air that leapt and dried by itself was a flight, and where nobody logs any the next leap is believed to be one', () => {
  expect(leaps([10, 10, 10])).toEqual([false, true, true])
  // Hangar air through an open loop stays.
  expect(leaps([75, 75, 75])).toEqual([false, false, false])
  // Who logs flights has not flown.
  expect(leaps([10, 10, 10], { areFlightsLogged: true })).toEqual([false, false, false])
})

/** Whether a gate that a landing made eligible opens for a rig that looks unhooked, in air that rises from 40 % by `perHour`. */
function opensUnhooked(perHour: number, hangarPct: number): boolean {
  const gate = startWetGate(0)
  startGateRun(gate, 40, 0)
  for (let atS = 300; atS <= 2 * HOUR_S; atS += 300) {
    const humidityPct = Math.min(90, 40 + (perHour * atS) / HOUR_S)
    takeGatePoint(gate, { ...POINT, humidityPct, unwarmedPct: humidityPct, hangarPct, isUnhooked: true, atS })
  }
  return gate.isOpen
}

test('a rig that looks unhooked is back on its engine with air that only an engine has, or that leaps; a landing is not enough', () => {
  expect(opensUnhooked(600, 30)).toBe(true)
  expect(opensUnhooked(600, 80)).toBe(true)
  expect(opensUnhooked(25, 80)).toBe(false)
})

test('air that stood for an hour and leaps is a leap, whichever reading was the lowest', () => {
  const gate = startWetGate(0)
  gate.eligibleFromS = null
  startGateRun(gate, 12, 0)
  for (let atS = 300; atS <= 2100; atS += 300) {
    const humidityPct = atS < 2100 ? 12.5 : 95
    takeGatePoint(gate, { ...POINT, humidityPct, unwarmedPct: humidityPct, atS })
  }
  expect(gate.isOpen).toBe(true)
})

/** A hangar's damp air opens the gate after a landing; after three hours the air reads `pct` at once. Whether that proves the flow. */
function isProvenByLeapTo(pct: number, isPumpInferred: boolean): boolean {
  const gate = startWetGate(0)
  startGateRun(gate, 55, 0)
  for (let atS = 300; atS <= 5 * HOUR_S; atS += 300) {
    const humidityPct = atS < 3 * HOUR_S ? 55 : pct
    takeGatePoint(gate, {
      ...POINT,
      hangarPct: 55,
      isPumpInferred,
      humidityPct,
      unwarmedPct: humidityPct,
      atS,
    })
    if (atS < 3 * HOUR_S && atS > 2 * HOUR_S) expect([gate.isOpen, gate.isProven]).toEqual([true, false])
  }
  return gate.isProven
}

test('a run that only the air tells of begins anew when the air leaps: the rig was off, and is back on its engine', () => {
  expect(isProvenByLeapTo(90, true)).toBe(true)
  expect(isProvenByLeapTo(60, true)).toBe(false)
  // A pump that reports has run since it said so.
  expect(isProvenByLeapTo(90, false)).toBe(false)
})

/** Hours after which a proven plateau that reads so much at night, % RH, is no longer believed; at most a day and a half. */
function givenUpAfterH(nightPct: number, more: Partial<GatePoint> = {}): number | null {
  const gate = jump({ humidityPct: 95, movedG: 0.01 })
  for (let atS = 2 * HOUR_S; atS <= 36 * HOUR_S; atS += 300) {
    const isNight = atS % (24 * HOUR_S) < 20 * HOUR_S
    const humidityPct = isNight ? nightPct : 80
    takeGatePoint(gate, { ...POINT, movedG: 0.01, humidityPct, unwarmedPct: humidityPct, ...more, atS })
    if (!gate.isOpen) return atS / HOUR_S
  }
  return null
}

test('a box that stays saturated once the engine has cooled has no pump that moves its air', () => {
  expect(givenUpAfterH(99)).toBeCloseTo(15, 0)
  expect(givenUpAfterH(93)).toBeNull()
  // The air inside a wet engine may be saturated with any pump.
  expect(givenUpAfterH(99, { isInBox: false })).toBeNull()
})

test('a strong pump thins the air inside a wet engine to 60 %: it is evaporation all the same; in a box it may be the hangar', () => {
  const opened = [true, false].map((isInEngine) => hookUpAt(0.6, { isInEngine }))
  expect(opened).toEqual([true, false])
})

test('in a box, too, where the air of the hangar is known to be another, or nothing has changed the air since the box came with it', () => {
  const opened = [{ hangarPct: 85 }, { hangarPct: 35 }, { isHangarMeasured: false }].map((more) =>
    hookUpAt(0.6, more),
  )
  expect(opened).toEqual([true, true, true])
  expect(hookUpAt(0.4, { hangarPct: 35 })).toBe(false)
})

function hookUpAt(evaporatingShare: number, more: Partial<GatePoint>): boolean {
  const gate = startWetGate(0)
  startGateRun(gate, 63, 0)
  for (let atS = 300; atS <= HOUR_S; atS += 300)
    takeGatePoint(gate, { ...POINT, humidityPct: 60, unwarmedPct: 60, evaporatingShare, ...more, atS })
  return gate.isOpen
}

test('damp that takes hours to look like evaporation is believed no longer: the pump has had its chance since it started', () => {
  const gate = startWetGate(0)
  startGateRun(gate, 66, 0)
  const shutAtH: number[] = []
  for (let atS = 300; atS <= 40 * HOUR_S; atS += 300) {
    const point = { ...POINT, humidityPct: 66, unwarmedPct: 66, movedG: 0.01, atS }
    const wasOpen = gate.isOpen
    takeGatePoint(gate, { ...point, evaporatingShare: atS > 8 * HOUR_S ? 0.8 : 0.5 })
    if (wasOpen && !gate.isOpen) shutAtH.push(atS / HOUR_S)
  }
  expect(shutAtH.map(Math.round)).toEqual([30])
})

/** A wet engine after its flight, with the sensor in it: the first dry air takes 43 % down to 33 %, and it comes up to 42 % again. */
function inEngine(more: Partial<GatePoint>) {
  const gate = startWetGate(0)
  startGateRun(gate, 43, 0)
  for (let atS = 300; atS <= 4 * HOUR_S; atS += 300) {
    const humidityPct = 33 + 9 * Math.min(1, Math.max(0, atS / HOUR_S - 0.5))
    const air = { humidityPct, unwarmedPct: humidityPct, evaporatingShare: null, isInBox: false }
    takeGatePoint(gate, { ...POINT, ...air, ...more, atS })
  }
  return gate
}

test('a sensor in the engine need see no rise, nor air as wet as a pool makes it: what holds a plateau is one there', () => {
  const said = { isInEngine: true, isSaidInEngine: true }
  expect(inEngine(said)).toMatchObject({ isOpen: true, isProven: false })
  expect(inEngine({ ...said, startPct: 29 }).isOpen).toBe(false)
  expect(inEngine({ isInBox: true }).isOpen).toBe(false)
})

test('an engine that is seen to run is wetted though nobody logs it', () => {
  const gate = startWetGate(0)
  gate.eligibleFromS = null
  noticeEngineRun(gate, 7 * HOUR_S)
  expect(gate).toMatchObject({ eligibleFromS: 7 * HOUR_S, wettedAtS: 7 * HOUR_S, isOpen: false })
})

test('without a stated flow nothing is expected, and what the last plateau took is all that is known', () => {
  const open = [null, 41 * HOUR_S].map((outlastedS) => {
    const gate = { ...startWetGate(0), outlastedS }
    startGateRun(gate, 12, 0)
    const cold = { ...POINT, humidityPct: 80, unwarmedPct: 80, movedG: null, expectedS: null, isNew: true }
    for (let atS = 300; atS <= 55 * HOUR_S; atS += 300) takeGatePoint(gate, { ...cold, atS })
    return gate.isOpen
  })
  expect(open).toEqual([false, true])
})
