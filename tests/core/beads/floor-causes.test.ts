import { describe, expect, test } from 'vitest'
import { pushEnsemble, bedsOf, SCALE_PRIOR, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { liftOfRatio, weighByExit } from '../../../src/core/beads/ensemble-update.ts'
import { type CauseEvidence, floorCauses } from '../../../src/core/beads/floor-causes.ts'

/** Two kilograms after so many grams of damp air, as the ledger counts them. */
function column(grams: number): ReturnType<typeof startEnsemble> {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 2000, bakeTempC: 120 }, SCALE_PRIOR)
  const beds = bedsOf(ensemble)
  let takenG = 0
  while (takenG < grams) {
    const exitGm3 = pushEnsemble(ensemble, beds, { inGm3: 3, volumeL: 20, tempC: 15 })
    takenG += (20 * (3 - exitGm3)) / 1000
    if (exitGm3 > 2.5) break
  }
  return ensemble
}

const FRESH: CauseEvidence = {
  ensemble: column(5),
  days: 60,
  stopPct: 6,
  tempC: 15,
  liftPct: 3,
  ingressLn: null,
  slope: null,
  loopTestPct: null,
  floorCheckPct: null,
  sensor: { sdPct: 2, isChecked: false },
}

const SPENT: CauseEvidence = { ...FRESH, ensemble: column(260) }

const CLAIMED = 0.8

const leakOdds = (mid: number): number => {
  const { leak, suctionLeak } = floorCauses({ ...FRESH, ingressLn: { mid, se: 0.2 } })
  return leak / suctionLeak
}

describe('what has lifted the floor', () => {
  test.each([
    ['beads by a ledger that is full', SPENT],
    ['beads or not, where nobody counted', { ...FRESH, ensemble: null }],
    ['no beads by a ledger that has hardly begun', FRESH],
    ['a leak by its ingress', { ...FRESH, ingressLn: { mid: 1.6, se: 0.2 } }],
    ['a slope without residuals', { ...FRESH, slope: { mid: 5, se: 0, ambientPct: 60 } }],
    ['air of the hangar by its slope', { ...FRESH, slope: { mid: 0.05, se: 0.01, ambientPct: 60 } }],
  ])('sums to one: %s', (_, seen) => {
    const { beads, leak, suctionLeak, sensor } = floorCauses(seen)
    expect(beads + leak + suctionLeak + sensor).toBeCloseTo(1, 12)
  })

  test('beads, where the ledger says that they are full', () => {
    expect(floorCauses(SPENT).beads).toBeGreaterThan(CLAIMED)
    expect(floorCauses(FRESH).beads).toBeLessThan(0.05)
  })

  test('no one cause, where the ledger has hardly begun and nothing tells the others apart', () => {
    const causes = floorCauses(FRESH)
    expect(Math.max(...Object.values(causes))).toBeLessThan(CLAIMED)
    expect(causes.leak).toBeGreaterThan(causes.suctionLeak)
  })

  test('a leak of the engine lifts the ingress as much, one on the suction side does not', () => {
    expect(leakOdds(1.2)).toBeGreaterThan(2 * leakOdds(0))
    expect(leakOdds(1.2)).toBeGreaterThan(leakOdds(0.4))
  })

  test('hangar air in the loop follows the hangar: three standard errors of slope are a claim against beads and sensor', () => {
    // All of the lift from the hangar: 3 % of 60 %.
    const follows = floorCauses({ ...FRESH, slope: { mid: 0.05, se: 0.05 / 3, ambientPct: 60 } })
    expect(follows.suctionLeak + follows.leak).toBeGreaterThan(0.95)
    const flat = floorCauses({ ...FRESH, slope: { mid: 0, se: 0.05 / 5, ambientPct: 60 } })
    expect(flat.suctionLeak + flat.leak).toBeLessThan(0.5)
  })

  test('a salt check since clears the sensor, one that is not there clears nothing', () => {
    const checked = floorCauses({ ...FRESH, sensor: { sdPct: 0.8, isChecked: true } })
    expect(checked.sensor).toBeLessThan(0.05)
    expect(floorCauses({ ...FRESH, sensor: { sdPct: 0.8, isChecked: false } }).sensor).toBeGreaterThan(0.2)
  })

  test('a floor check over the stop limit after a full bake is the sensor', () => {
    const seen = { ...FRESH, days: 2, ensemble: column(0), floorCheckPct: 6.2, liftPct: 4 }
    expect(floorCauses(seen).sensor).toBeGreaterThan(CLAIMED)
    // As dry as fresh beads and films make it: nothing for an offset to explain.
    expect(floorCauses({ ...seen, floorCheckPct: 2.2 }).sensor).toBeLessThan(CLAIMED)
  })

  test.each([
    ['dry: neither beads nor sensor', 2, (c: ReturnType<typeof floorCauses>) => c.leak + c.suctionLeak],
    ['wet: not a leak', 7, (c: ReturnType<typeof floorCauses>) => c.beads + c.sensor],
  ])('a loop test that is %s', (_, loopTestPct, told) => {
    const before = column(190)
    const ensemble = structuredClone(before)
    weighByExit(ensemble, 'loop-test', { pct: loopTestPct, sePct: 0.2, sensorSdPct: 1, tempC: 15 })
    const seen = { ...FRESH, liftPct: 5, ensemble, loopTestPct }
    expect(told(floorCauses(seen))).toBeGreaterThan(
      told(floorCauses({ ...seen, ensemble: before, loopTestPct: null })),
    )
  })
})

/** ln((high - floor)/(low - floor)): the time of one exponential towards its floor, in time constants. */
const time = (floorPct: number): number => Math.log((12.03 - floorPct) / (7.53 - floorPct))

test('a ratio of one is no lift, and the lift of a ratio gives the ratio back by the closed form', () => {
  const marks = { highPct: 12.03, lowPct: 7.53 }
  expect(liftOfRatio(marks, 2, 0)).toBeCloseTo(0, 2)
  const lift = liftOfRatio(marks, 2, Math.log(2.2))
  expect(time(2 + lift) / time(2)).toBeCloseTo(2.2, 2)
})
