import { describe, expect, test } from 'vitest'
import { correctPct, correctionOf } from '../../../src/core/sensor/correction.ts'
import { timestampText } from '../../../src/core/ingest/instant.ts'
import { readDetail } from '../../../src/core/logbook/read-detail.ts'
import { advance } from '../../../src/core/fold/advance.ts'
import { takenG } from '../../../src/core/fold/fill.ts'
import type { DatedSettings, LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY = 86_400
const HOUR = 3600

const at = (day: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS: DAY_ZERO_S + day * DAY,
  what,
  detail,
})

function after(
  days: number,
  log: readonly LogEntry[],
  readings: readonly Reading[] = sawTooth({ days, noisePct: 0.1 }),
  settings: readonly DatedSettings[] = [{ fromS: 0, settings: SETTINGS }],
): Memory {
  return advance(newMemory(DAY_ZERO_S), { readings, log, settings }, DAY_ZERO_S + days * DAY).memory
}

const fillOf = ({ beads }: Memory) => {
  if (beads.fill === null) throw new Error('no beads')
  return beads.fill
}

test('a gap brings what so many hours bring, not a parcel', () => {
  const gaps = Array.from({ length: 30 }, (_, day) => DAY_ZERO_S + (day + 1.5) * DAY)
  // The pump never runs: all that is taken up is taken up in gaps.
  const readings = sawTooth({ days: 35, noisePct: 0.1 })
    .filter(({ atS }) => gaps.every((gapS) => atS <= gapS || atS >= gapS + 40 * 60))
    .map((reading) =>
      Object.assign({}, reading, { humidityPct: 10 + 0.1 * Math.sin(reading.atS), pumpOn: false }),
    )
  const taken = takenG(fillOf(after(35, [at(0.1, 'bake')], readings)))
  // Thirty times forty minutes, at 0.3 g a day as long as nothing else is known.
  expect(taken).toBeGreaterThan(0.01)
  expect(taken).toBeLessThan(0.35)
})

describe('the load that a bake or new beads begin', () => {
  test('has a mass', () => {
    for (const massG of ['0', '0.001'])
      expect(readDetail('beads', { massG })).toMatchObject({
        ok: false,
        problems: [{ pointer: '/detail/massG' }],
      })
  })

  test('keeps its kind from bake to bake of the jar', () => {
    const log = [at(1, 'beads', { kind: 'high-capacity-gel', jar: 'B' }), at(3, 'bake', { jar: 'B' })]
    expect(fillOf(after(4, log)).kind).toBe('high-capacity-gel')
    expect(fillOf(after(4, [...log, at(3.5, 'beads', { jar: 'B' })])).kind).toBe('regular-gel')
  })

  test('has the mass that the settings say now, unless an entry stated one', () => {
    const settings = [
      { fromS: 0, settings: SETTINGS },
      { fromS: DAY_ZERO_S + 2 * DAY, settings: { ...SETTINGS, beadMassG: 1000 } },
    ]
    const bakes = [at(1, 'bake'), at(3, 'bake')]
    expect(fillOf(after(4, bakes, undefined, settings)).massG).toBe(1000)
    const stated = [at(1, 'beads', { massG: '1500' }), at(3, 'bake')]
    expect(fillOf(after(4, stated, undefined, settings)).massG).toBe(1500)
  })
})

/** A moist loop, weighed every four days: the flow is `factor` times what is stated. */
function weighed(factor: number, repeats: number): { mean: number; sd: number } {
  const readings = sawTooth({ days: 40, ingressPerH: 0.2, noisePct: 0.1 })
  const bake = at(0.1, 'bake')
  // Without any weighing, the ledger is in stated litres.
  const stated = (days: number) =>
    takenG(
      fillOf(
        after(
          days,
          [bake],
          readings.filter(({ atS }) => atS <= DAY_ZERO_S + days * DAY),
        ),
      ),
    )
  const log = [bake]
  for (const day of [4, 12, 20, 28, 36]) {
    const grossG = String(3000 + factor * stated(day))
    for (let again = 0; again < repeats; again++) log.push(at(day + again / 200, 'weighing', { grossG }))
  }
  return after(40, log, readings).beads.flowLn
}

describe('gross weighings', () => {
  test.each([1.3, 0.8])('lead towards a flow of %d times what is stated, and not beyond it', (factor) => {
    const { mean, sd } = weighed(factor, 1)
    const share = mean / Math.log(factor)
    expect(share).toBeGreaterThan(0.3)
    expect(share).toBeLessThan(1.05)
    expect(sd).toBeLessThan(0.2)
  })

  test('of a jar that has got lighter say nothing, and leave it to the bake', () => {
    const readings = sawTooth({ days: 40, ingressPerH: 0.2, noisePct: 0.1 })
    const bakes = [at(0.1, 'bake'), at(36, 'bake', { beforeG: '2060', afterG: '2000' })]
    const lighter = [at(4, 'weighing', { grossG: '3000' }), at(30, 'weighing', { grossG: '2950' })]
    const { flowLn } = after(
      40,
      [...bakes, ...lighter].toSorted((a, b) => a.atS - b.atS),
      readings,
    ).beads
    expect(flowLn).toEqual(after(40, bakes, readings).beads.flowLn)
    expect(flowLn.sd).toBeLessThan(0.15)
  })

  test('entered again say nothing more', () => {
    expect(weighed(1.3, 4).mean).toBeCloseTo(weighed(1.3, 1).mean, 1)
  })
})

test('another sensor has its own fresh floors, and a new correction moves the old ones', () => {
  const base = sawTooth({ days: 24, noisePct: 0.1 })
  const replaced = fillOf(after(24, [at(0.1, 'bake'), at(20, 'sensor', { change: 'replaced' })], base))
  expect(replaced.freshFloorPct).toBeCloseTo(2, 0)
  expect(
    fillOf(after(20.01, [at(0.1, 'bake'), at(20, 'sensor', { change: 'replaced' })], base)).freshCount,
  ).toBe(0)
  // In lithium chloride (11.3 %) it shows 15.3: what it read as a floor was four percent too high.
  const fromS = DAY_ZERO_S + 20 * DAY
  const inSalt = base.map((reading) =>
    reading.atS > fromS && reading.atS <= fromS + 12 * HOUR
      ? Object.assign({}, reading, { humidityPct: 15.3, pumpOn: false, tempC: 25 })
      : reading,
  )
  const log = [at(0.1, 'bake'), at(20, 'salt-check', { salt: 'LiCl' })]
  const before = fillOf(after(20, log, inSalt))
  const corrected = fillOf(after(20.6, log, inSalt))
  expect(corrected.freshFloorPct - before.freshFloorPct).toBeCloseTo(-4, 1)
  // A trend of floors that were read with both corrections would be the salt check's.
  expect(corrected.floors.medians[0]?.[1]).toBeCloseTo((before.floors.medians[0]?.[1] ?? 0) - 4, 1)
})

const point = (truePct: number, shownPct: number, day: number) => ({
  atS: day * DAY,
  truePct,
  shownPct,
  sigmaPct: 0.5,
})

test('sodium chloride confirms and corrects nothing', () => {
  const low = [point(11.3, 12.3, 1), point(32.8, 33.8, 2)]
  const salty = correctionOf([...low, point(75.3, 84.3, 3)]).correction
  expect(correctPct(salty, 6)).toBeCloseTo(5, 6)
  expect(correctionOf([point(75.3, 82, 1)]).correction).toEqual({ kind: 'none' })
})

test('runs that stop nowhere, with a band below what fresh beads reach, say nothing of what the jar holds', () => {
  const settings = [{ fromS: 0, settings: { ...SETTINGS, band: { startPct: 15, stopPct: 1 } } }]
  // The loop settles at 4 %: after a first run the pump never rests again.
  const readings = sawTooth({ days: 8, noisePct: 0.1, floorPct: 4, stopPct: 1 })
  const first = fillOf(after(6, [at(0.1, 'bake')], readings, settings))
  expect(first.overAtG).toBeGreaterThanOrEqual(0)
  expect(first.overAtG).toBeLessThan(5)
  const second = fillOf(after(8, [at(0.1, 'bake'), at(6, 'bake')], readings, settings))
  expect(second.holds).toBeNull()
  expect(second.forecast?.capacityG?.mid).toBeGreaterThan(50)
})

describe('beads that are changed while the pump runs', () => {
  test('are not told by the time and the floor of the run that the old ones began', () => {
    const readings = sawTooth({ days: 20, noisePct: 0.1 })
    const run = advance(
      newMemory(DAY_ZERO_S),
      { readings, log: [at(0.1, 'bake')], settings: [{ fromS: 0, settings: SETTINGS }] },
      DAY_ZERO_S + 20 * DAY,
    ).cycles.find(({ runToS }) => runToS > DAY_ZERO_S + 10 * DAY)
    if (run === undefined) throw new Error('no run')
    const day = (run.runFromS + 1200 - DAY_ZERO_S) / DAY
    const { runTime, beads } = after((run.runToS + HOUR - DAY_ZERO_S) / DAY, [
      at(0.1, 'bake'),
      at(day, 'beads'),
    ])
    expect(runTime.first).toEqual([])
    expect(beads.fill?.freshCount).toBe(0)
  })

  test('have not taken up what was in doubt before', () => {
    // Nobody reports the pump: wet air that comes down later was an engine's, or the hangar's.
    const readings = sawTooth({ days: 17, noisePct: 0.1, basis: 'inferred' }).map((reading) => {
      const days = (reading.atS - DAY_ZERO_S) / DAY
      return days < 10 || days > 15 ? reading : Object.assign({}, reading, { humidityPct: 80 + (days % 1) })
    })
    const changed = after(16, [at(0.1, 'bake'), at(14.9, 'beads')], readings)
    expect(takenG(fillOf(changed))).toBeLessThan(5)
    // Nobody has changed them: the old ones have it.
    expect(takenG(fillOf(after(16, [at(0.1, 'bake')], readings)))).toBeGreaterThan(50)
  })
})

test.each(['salt-check', 'loop-test'])('the air of a %s is none that went through the beads', (what) => {
  const fromS = DAY_ZERO_S + 10 * DAY
  const untilS = fromS + 12 * HOUR
  // Nobody reports the pump, and the pot is wetter than the band.
  const readings = sawTooth({ days: 12, noisePct: 0.1, basis: 'inferred' })
  const inPot = readings.map((reading) =>
    reading.atS <= fromS || reading.atS > untilS ? reading : Object.assign({}, reading, { humidityPct: 33 }),
  )
  const log = [at(0.1, 'bake'), at(10, what, { salt: 'MgCl2', until: timestampText(untilS) })]
  const taken = takenG(fillOf(after(12, log, inPot)))
  expect(taken).toBeLessThan(takenG(fillOf(after(12, [at(0.1, 'bake')], readings))) + 0.05)
})
