import { expect, test } from 'vitest'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import {
  judgeCreeping,
  judgePassing,
  settleUnhooked,
  startUnhooked,
  takeRestPoint,
} from '../../../src/core/trace/unhooked.ts'

const HOUR_S = 3600

/**
 * Air that goes from 12 % towards 60 % at `perH`, in an inferred run that began with it; readings `everyS` apart. After a gap
 * nothing is known from before the run.
 */
function creep(perH: number, everyS: number, isAfterGap = false) {
  const memory = startUnhooked()
  const before = isAfterGap ? { fromPct: null, fromGm3: null } : { fromPct: 12, fromGm3: 1.2 }
  for (let atS = everyS; atS <= 1.5 * HOUR_S; atS += everyS) {
    const humidityPct = 60 - 48 * Math.exp((-perH * atS) / HOUR_S)
    const point = { atS, humidityPct, densityGm3: humidityPct / 10, sigmaPct: 0.2, isNew: true }
    judgeCreeping(memory, { ...point, runFromS: 1, ...before })
  }
  return memory
}

test.each([
  ['the slowest pump into the largest box, 15 times an hour', 15, false],
  ['hoses that lie open, five times an hour', 5, true],
  ['hoses that hardly let the hangar in', 0.3, true],
  ['a box that only leaks', 0.05, false],
])('%s', (_, perH, isOff) => {
  for (const everyS of [60, 300, 600]) expect(creep(perH, everyS).sinceS !== null).toBe(isOff)
})

test('after a gap air that creeps on from the first reading is known as well', () => {
  expect(creep(0.5, 300, true).sinceS).toBe(1)
  expect(creep(0.05, 300, true).sinceS).toBeNull()
  expect(creep(15, 300, true).sinceS).toBeNull()
})

test('a hangar that gets warmer reads drier, and lets in as much', () => {
  const memory = startUnhooked()
  for (let atS = 600; atS <= 1.5 * HOUR_S; atS += 600) {
    const densityGm3 = 14 - 12 * Math.exp((-5 * atS) / HOUR_S)
    const humidityPct = 5 * densityGm3 * (1 - (0.1 * atS) / HOUR_S)
    judgeCreeping(memory, {
      atS,
      humidityPct,
      isNew: true,
      densityGm3,
      sigmaPct: 0.2,
      runFromS: 1,
      fromPct: 10,
      fromGm3: 2,
    })
  }
  expect(memory.sinceS).toBe(1)
})

test('what a hub shows again is no later reading', () => {
  const memory = startUnhooked()
  for (let atS = 300; atS <= 1.5 * HOUR_S; atS += 300) {
    // A pump has filled the box, but the hub shows for twenty minutes what it saw in the first five.
    const isHeld = atS > 300 && atS <= 1200
    const humidityPct = atS <= 1200 ? 30 : 60
    const point = { atS, humidityPct, isNew: !isHeld, densityGm3: humidityPct / 10, sigmaPct: 0.2 }
    judgeCreeping(memory, { ...point, runFromS: 1, fromPct: 12, fromGm3: 1.2 })
  }
  expect(memory.sinceS).toBeNull()
})

test('a hub that posts every 25 minutes shows a later first reading, and hoses all the same', () => {
  expect(creep(5, 1500).sinceS).toBe(1)
})

const at = (hours: number) => ({ atS: hours * HOUR_S, humidityPct: 60 })

test('what only looked unhooked is believed for a flight, what was seen at rest for a night more', () => {
  const guess = creep(1, 300)
  settleUnhooked(guess, at(5), 15, true)
  expect(guess.sinceS).not.toBeNull()
  settleUnhooked(guess, at(6.5), 15, true)
  expect(guess.sinceS).toBeNull()
  const seen = { ...startUnhooked(), sinceS: 0 }
  settleUnhooked(seen, at(30), 15, true)
  expect(seen.sinceS).not.toBeNull()
})

test('while the logbook is empty the hook-up is waited for, within half a day', () => {
  const guess = creep(1, 300)
  settleUnhooked(guess, at(8.5), 15, false)
  expect(guess.sinceS).not.toBeNull()
  settleUnhooked(guess, at(9.5), 15, false)
  expect(guess.sinceS).toBeNull()
})

test('air that passes the limit from well below is a guess too', () => {
  const memory = startUnhooked()
  expect(judgePassing(memory, [[0, 9, 1]], { startPct: 15, sigmaPct: 0.2 })).toBe(true)
  expect(memory.isGuess).toBe(true)
  // A loop that draws hangar air passes it as well, and shows by its shape that air is moved.
  const point = {
    isNew: true,
    densityGm3: 6,
    runFromS: 1,
    fromPct: 12,
    fromGm3: 1.2,
    sigmaPct: 0.2,
    humidityPct: 60,
  }
  judgeCreeping(memory, { ...point, atS: 1000 })
  judgeCreeping(memory, { ...point, atS: 3700 })
  expect(memory.sinceS).toBeNull()
})

/** When the rig is seen to be off, by readings at rest ten minutes apart; the limit is 16 %, the pump stopped at 0 s. */
function atRest(
  humidities: readonly number[],
  { wettestPct = 100, fromS = 0, isTempMeasured = true } = {},
): number | null {
  const memory = startUnhooked()
  const same = { limitPct: 16, sigmaPct: 0.2, wettestPct, restsSinceS: 0, isTempMeasured }
  humidities.forEach((humidityPct, index) => {
    takeRestPoint(memory, { ...same, atS: fromS + 600 * index, humidityPct, densityGm3: humidityPct / 10 })
  })
  return memory.sinceS
}

test('one reading that jumps at rest is a glitch, two are the hangar', () => {
  expect(atRest([14, 14, 33, 14, 15, 33, 16, 17])).toBeNull()
  expect(atRest([14, 14, 33, 34])).toBe(600)
})

test('what a closed box takes in is no jump: in damp air 8 % in an hour are some, in dry air 4 % are none', () => {
  const climb = [13, 13, 13.5, 14, 17, 17.5]
  expect(atRest(climb, { fromS: 3 * HOUR_S })).toBeNull()
  expect(atRest(climb, { wettestPct: 40, fromS: 3 * HOUR_S })).toBe(3 * HOUR_S)
  // Without a temperature an evening that cools looks the same.
  expect(atRest(climb, { wettestPct: 40, fromS: 3 * HOUR_S, isTempMeasured: false })).toBeNull()
})

test('air that jumped below the limit and passes it hours later was the hangar then', () => {
  const day = [3, 3, 14, 14.5, ...Array<number>(30).fill(15), 16.5]
  expect(atRest(day, { fromS: 3 * HOUR_S })).toBe(3 * HOUR_S)
  // Right after a run the air of the engine evens out with the box.
  expect(atRest(day)).toBeNull()
  expect(atRest([3, 3, 14, 14.5, ...Array<number>(80).fill(15), 16.5], { fromS: 3 * HOUR_S })).toBeNull()
})

test('air that cools gains humidity and no water', () => {
  const memory = startUnhooked()
  const same = {
    limitPct: 16,
    sigmaPct: 0.2,
    wettestPct: 40,
    restsSinceS: 0,
    densityGm3: 1.5,
    isTempMeasured: true,
  }
  for (const [index, humidityPct] of [14, 15, 17, 19, 21].entries())
    takeRestPoint(memory, { ...same, atS: 600 * index, humidityPct })
  expect(memory.sinceS).toBeNull()
})

/** Whether a sensor at rest in air of 8 % at `fromC` that then reads `pct` at `toC` counts as taken off, two readings on. */
function isTakenOff(fromC: number, pct: number, toC: number): boolean {
  const memory = startUnhooked()
  const point = {
    limitPct: 16,
    sigmaPct: 0.1,
    wettestPct: 85,
    restsSinceS: -24 * HOUR_S,
    isTempMeasured: true,
  }
  for (let atS = 0; atS <= 2 * HOUR_S; atS += 600) {
    const [humidityPct, tempC] = atS < HOUR_S ? [8, fromC] : [pct, toC]
    takeRestPoint(memory, { ...point, atS, humidityPct, densityGm3: vapourDensityGm3(humidityPct, tempC) })
  }
  return memory.sinceS !== null
}

test("a sensor that leaves a preheated engine for a hangar in the frost is off, though the hangar's air holds less water", () => {
  expect(vapourDensityGm3(60, -4)).toBeLessThan(1.1 * vapourDensityGm3(8, 30))
  expect(isTakenOff(30, 60, -4)).toBe(true)
  // What a box and its pump cool by makes the same air damper and is nothing else.
  expect(isTakenOff(15, 14.5, 6)).toBe(false)
  expect(isTakenOff(15, 17, 4)).toBe(false)
})
