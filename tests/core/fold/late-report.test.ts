import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import type { Step } from '../../../src/core/fold/work.ts'
import { DAY_ZERO_S, SETTINGS } from './saw-tooth.ts'

const MINUTE = 60

/** A day of a hub that posts on change only and tells of the pump a quarter of an hour late: minutes, % RH, pump. */
const READINGS: readonly (readonly [minutes: number, humidityPct: number, pumpOn: boolean])[] = [
  [0, 12, false],
  [15, 13, false],
  [30, 14, false],
  [40, 14.8, false],
  // The pump starts; nothing had been posted for ten minutes, and what comes is the engine's air.
  [50, 27, false],
  [55, 22, false],
  [62, 19, false],
  [64, 18, true],
  [70, 14, true],
  [80, 9, true],
  [90, 6, true],
  [105, 6.5, false],
  [120, 7, false],
]

const READ: readonly Reading[] = READINGS.map(([minutes, humidityPct, pumpOn]) => ({
  atS: DAY_ZERO_S + minutes * MINUTE,
  place: 'return',
  humidityPct,
  tempC: 15,
  pumpOn,
  powerW: null,
}))

function after(readings: readonly Reading[]): Step {
  const settings = [{ fromS: 0, settings: SETTINGS }]
  const log = [{ atS: DAY_ZERO_S, what: 'bake', detail: {} }]
  return advance(newMemory(DAY_ZERO_S), { readings, log, settings }, DAY_ZERO_S + 7200)
}

test('a run begins at the last value before its surge, however long that had stood when the pump was reported', () => {
  const { cycle } = after(READ).memory.finished ?? {}
  expect(cycle).toMatchObject({ startPct: 14.8, runFromS: DAY_ZERO_S + 50 * MINUTE })
})

test('the surge of the run before begins no second one, and its water is counted once', () => {
  // In the midst of the run the outlet says for one post that it is off.
  const blinked = READ.map((reading) => {
    const minute = (reading.atS - DAY_ZERO_S) / MINUTE
    return minute < 62 || minute > 64 ? reading : Object.assign({}, reading, { pumpOn: minute === 62 })
  })
  const { cycles, memory } = after(blinked)
  expect(cycles).toHaveLength(1)
  expect(cycles[0]).toMatchObject({ runFromS: DAY_ZERO_S + 50 * MINUTE, restMin: 6 })
  expect(memory.finished?.cycle.runFromS).toBe(DAY_ZERO_S + 70 * MINUTE)
  expect(memory.beads.fill?.idleG).toBeLessThan(after(READ).memory.beads.fill?.idleG ?? 0)
})

/** The pump is reported in a record of its own, a minute after each reading; g into the beads. */
function waterG(values: Pick<Reading, 'place' | 'humidityPct' | 'tempC'>): number {
  const apart = READ.flatMap((reading) => [
    Object.assign({}, reading, { pumpOn: null }),
    Object.assign({}, reading, values, { atS: reading.atS + MINUTE }),
  ])
  return after(apart).memory.beads.fill?.idleG ?? 0
}

test('the water of a run is the same whichever place reports its pump', () => {
  const alone = waterG({ place: 'return', humidityPct: null, tempC: null })
  expect(alone).toBeGreaterThan(0.1)
  expect(waterG({ place: 'ambient', humidityPct: 90, tempC: 25 })).toBeCloseTo(alone, 6)
})

/** 4 W while it runs, in the reading itself or in a record of its own ten seconds before. */
function energyWh(isApart: boolean): number {
  const metered = READ.flatMap((reading): Reading[] => {
    const powerW = reading.pumpOn === true ? 4 : 0.3
    if (!isApart) return [Object.assign({}, reading, { powerW })]
    const meter = { humidityPct: null, tempC: null, powerW, atS: reading.atS - 10 }
    return [Object.assign({}, reading, meter), reading]
  })
  return after(metered.filter(({ atS }) => atS >= DAY_ZERO_S)).memory.finished?.cycle.energyWh ?? 0
}

test('the energy of a run is counted whether or not the meter posts with the sensor', () => {
  expect(energyWh(false)).toBeGreaterThan(1)
  expect(energyWh(true)).toBeCloseTo(energyWh(false), 1)
})
