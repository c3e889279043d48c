import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import { takenG } from '../../../src/core/fold/fill.ts'
import { type BeadsMemory, startBeads } from '../../../src/core/fold/fill-memory.ts'
import type { LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import { ledgerScatter, takeWeighing, weighByScale } from '../../../src/core/fold/weighing.ts'
import { bedsOf, memberTakenG, pushEnsemble, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { gPerFlight, takeFlightUptake, takeUptake } from '../../../src/core/beads/uptake.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const DAY = 86_400
const DAYS = 60

const at = (day: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS: DAY_ZERO_S + day * DAY,
  what,
  detail,
})
const bake = (day: number, jar: string, lossG?: number): LogEntry =>
  at(day, 'bake', lossG === undefined ? { jar } : { jar, beforeG: String(2000 + lossG), afterG: '2000' })
const gross = (day: number, grams: number): LogEntry => at(day, 'weighing', { grossG: String(grams) })

/** A moist loop: nearly three grams a day. */
const READINGS = sawTooth({ days: DAYS, ingressPerH: 0.2, noisePct: 0.1 })
const BLIND: readonly Reading[] = READINGS.map((reading) => Object.assign({}, reading, { tempC: null }))

function after(days: number, log: readonly LogEntry[], readings: readonly Reading[] = READINGS): Memory {
  const untilS = DAY_ZERO_S + days * DAY
  const heard = readings.filter(({ atS }) => atS <= untilS)
  const settings = [{ fromS: 0, settings: SETTINGS }]
  return advance(newMemory(DAY_ZERO_S), { readings: heard, log, settings }, untilS).memory
}

const fillOf = ({ beads }: Memory) => {
  if (beads.fill === null) throw new Error('no beads')
  return beads.fill
}
const countedG = (days: number, log: readonly LogEntry[]): number => takenG(fillOf(after(days, log)))

const FRESH = [bake(0.1, 'A'), gross(0.11, 3000)]
const LEDGER_G = countedG(30, FRESH)

const left = (memory: Memory): number => fillOf(memory).forecast?.daysLeft?.mid ?? 0

describe('a jar that is weighed whole', () => {
  test.each([1.5, 1, 0.7])('has taken up what the scale shows, %d times what was counted', (factor) => {
    const weighedG = factor * LEDGER_G
    const { forecast } = fillOf(after(30.1, [...FRESH, gross(30, 3000 + weighedG)]))
    const taken = forecast?.takenUpG
    // A kitchen scale is 5 g and 2 % off, and the ledger is not worth nothing beside it.
    expect(Math.abs((taken?.mid ?? 0) - weighedG)).toBeLessThan(8)
    expect(taken?.low).toBeLessThan(weighedG)
    expect(taken?.high).toBeGreaterThan(weighedG)
    expect((taken?.high ?? 0) - (taken?.low ?? 0)).toBeLessThan(14)
  })

  test('has so much less left', () => {
    const counted = left(after(30.1, FRESH))
    expect(left(after(30.1, [...FRESH, gross(30, 3000 + 1.5 * LEDGER_G)]))).toBeLessThan(0.8 * counted)
  })

  test('tells of the water since it was first weighed, where nobody weighed it after the bake', () => {
    const log = [bake(0.1, 'A'), gross(20, 3000)]
    const atFirstG = countedG(20, log)
    const { beads } = after(30.1, [...log, gross(30, 3020)])
    const flow = Math.exp(beads.flowLn.mean)
    expect(
      Math.abs(takenG(fillOf(after(30.1, [...log, gross(30, 3020)]))) - flow * atFirstG - 20),
    ).toBeLessThan(6)
  })

  test('and is lighter than it was, but not than from the oven, was baked: what it holds is known, and no flow', () => {
    const log = [...FRESH, gross(30, 3000 + LEDGER_G)]
    const before = after(31, log)
    const baked = after(31, [...log, gross(30.5, 3004)])
    const { takenUpG } = fillOf(baked).forecast ?? { takenUpG: null }
    expect(takenUpG?.mid).toBeLessThan(10)
    // Somebody may have read the scale wrongly.
    expect(takenUpG?.high).toBeGreaterThan(15)
    expect(baked.beads.flowLn).toEqual(before.beads.flowLn)
  })

  test('and weighs less than it did from the oven was weighed without something', () => {
    const log = [...FRESH, gross(30, 2900)]
    expect(countedG(31, log)).toBeCloseTo(countedG(31, FRESH), 6)
  })
})

test('columns that were as good as used up lose where the scale shows that the beads went on', () => {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 500, bakeTempC: 120 }, { mean: 0, sd: 0.4 })
  const beds = bedsOf(ensemble)
  for (let parcel = 0; parcel < 1000; parcel++)
    pushEnsemble(ensemble, beds, { inGm3: 4, volumeL: 20, tempC: 15 })
  const taken = beds.map((bed, member) => memberTakenG(ensemble, member, bed))
  const gainedG = Math.max(...taken)
  const smallest = ensemble.weights[0] ?? 0
  expect(taken[0]).toBeLessThan(0.7 * gainedG)
  weighByScale(ensemble, { gainedG, sinceG: 0, countedLnSd: 0.1 })
  expect(ensemble.weights[0]).toBeLessThan(0.3 * smallest)
})

describe('two jars in turn', () => {
  const turns = [bake(0.1, 'A'), bake(20, 'B')]
  const firstG = countedG(19.99, turns)

  test('tell of the flow when the jar that was in the column before is baked', () => {
    const told = after(41, [...turns, bake(40, 'A', 1.3 * firstG)])
    expect(told.beads.flowLn.mean).toBeGreaterThan(0.3 * Math.log(1.3))
    expect(told.beads.flowLn.mean).toBeLessThan(Math.log(1.3))
    expect(told.beads.flowLn.sd).toBeLessThan(0.18)
    expect(after(41, [...turns, bake(40, 'A')]).beads.flowLn).toEqual(startBeads().flowLn)
  })

  test('tell of it once', () => {
    const log = [...turns, bake(40, 'A', 1.3 * firstG)]
    const again = after(42, [...log, bake(40.2, 'B'), bake(40.4, 'A', 1.3 * firstG)])
    expect(again.beads.flowLn).toEqual(after(42, log).beads.flowLn)
  })
})

const weigh = (beads: BeadsMemory, weighedG: number, ledgerG: number, seasonLnSd = 0): number =>
  takeWeighing(beads, { weighedG, ledgerG, countedLn: beads.flowLn.mean, seasonLnSd }).trust

describe('one weighing', () => {
  test('that is half of what was counted is a bake that nobody entered as likely as it is the flow', () => {
    const beads = startBeads()
    expect(weigh(beads, 110, 210)).toBeLessThan(0.5)
    expect(beads.flowLn.mean).toBeGreaterThan(-0.35)
    // Which of the two it was nobody knows: no flow in between is sure.
    expect(beads.flowLn.sd).toBeGreaterThan(0.2)
  })

  test('that is near to what was counted makes the flow sure', () => {
    const beads = startBeads()
    expect(weigh(beads, 115, 100)).toBeGreaterThan(0.9)
    expect(beads.flowLn.mean).toBeGreaterThan(0.08)
    expect(beads.flowLn.sd).toBeLessThan(0.1)
  })

  test('moves what was counted of the pace as well', () => {
    const beads = startBeads()
    takeFlightUptake(beads.uptake, DAY_ZERO_S)
    takeUptake(beads.uptake, 30, 90)
    const before = gPerFlight(beads.uptake)
    weigh(beads, 120, 100)
    expect(gPerFlight(beads.uptake)).toBeGreaterThan(1.08 * before)
  })

  test('without a temperature is of the flow in that season: the next season is unsure', () => {
    const beads = startBeads()
    weigh(beads, 130, 100, 0.37)
    expect(beads.flowLn.sd).toBeGreaterThan(0.15)
    expect(beads.flowLn.mean).toBeLessThan(0.5 * Math.log(1.3))
  })
})

test('weighings that contradict each other widen what the next is believed to tell', () => {
  const alike = startBeads()
  const unlike = startBeads()
  for (const share of [1.35, 0.7, 1.35, 0.7]) {
    weigh(alike, 100, 100)
    weigh(unlike, 100 * share, 100)
  }
  expect(ledgerScatter(alike)).toBeLessThan(0.08)
  expect(ledgerScatter(unlike)).toBeGreaterThan(0.1)
})

test('a ledger that was not of the water weighed teaches nothing of the jar', () => {
  const wholeG = countedG(39.9, [bake(0.1, 'A')])
  const jar = (lossG: number) =>
    after(41, [bake(0.1, 'A'), bake(40, 'A', lossG)]).beads.jars.find(({ name }) => name === 'A')
  expect(jar(wholeG)?.belief.sd).toBeGreaterThan(0)
  expect(jar(0.4 * wholeG)?.belief).toEqual({ mean: Math.log(0.85), sd: 0.38 })
})

test('an interval without a temperature is as wide as a season, after a weighing too', () => {
  const log = [bake(0.1, 'A'), bake(30, 'A', LEDGER_G)]
  const share = (readings: readonly Reading[]): number => {
    const taken = fillOf(after(59.9, log, readings)).forecast?.takenUpG
    return (taken?.high ?? 0) / (taken?.mid ?? 1)
  }
  // 6.5 % a kelvin, 5.7 K: 80 % lie within exp(1.28 x 0.37) of it.
  expect(share(BLIND)).toBeGreaterThan(1.6)
  expect(share(READINGS)).toBeLessThan(1.35)
})
