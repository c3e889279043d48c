import { describe, expect, test } from 'vitest'
import type { Fault, RigPlan } from '../../../src/core/rig/plan.ts'
import type { RigOutput } from '../../../src/core/rig/simulate.ts'
import { type Gel, loadingAtKgKg } from '../../bench/other/gel.ts'
import { kindOf } from '../../bench/other/kind.ts'
import { makePlan } from '../../bench/other/plan.ts'
import { advance } from '../../bench/other/rig.ts'
import { start, waterG } from '../../bench/other/state.ts'
import { saturationPa } from '../../bench/other/vapour.ts'

const DAY = 86_400
const START = 1_743_465_600
const SEEDS = Array.from({ length: 12 }, (_, i) => i)

/** kg/kg at 25 degC. */
const at = (gel: Gel, pct: number) => loadingAtKgKg(gel, (pct / 100) * saturationPa(25), 25)

function runDays(plan: RigPlan, days: number) {
  const state = start(plan)
  const beforeG = waterG(plan, state)
  const out: RigOutput = { readings: [], log: [] }
  advance(plan, state, START + days * DAY, out)
  return { state, beforeG, out }
}

describe('the second simulator of the bench', () => {
  const kinds: Fault['kind'][] = ['supply-off', 'return-off', 'leak', 'cap-off', 'pump-dead', 'suction-leak']
  test.each([null, ...kinds])('no water is made or lost, with the fault %s', (kind) => {
    for (const seed of SEEDS.slice(0, 4)) {
      const plan = makePlan(seed, START, 12)
      const size = kind === 'cap-off' ? 200 : kind === 'suction-leak' ? 0.1 : 8
      const faults = kind === null ? [] : [{ kind, size, fromS: START + DAY, untilS: START + 8 * DAY }]
      const { state, beforeG } = runDays({ ...plan, faults }, 12)
      const shouldG = beforeG + state.fromOutsideG + state.fromFlightsG - state.bakedOutG
      expect(Math.abs(waterG(plan, state) / shouldG - 1)).toBeLessThan(1e-6)
      const stores = [
        state.mainG,
        state.pocketG,
        state.filmG,
        state.oilG,
        state.poolG,
        state.boxG,
        state.hoseG,
      ]
      expect(Math.min(...stores, ...state.loadings)).toBeGreaterThanOrEqual(-1e-9)
    }
  })

  test('a leak of six times lifts all that gets in six times, whatever share of it was a leak before', () => {
    for (const seed of SEEDS.slice(0, 3)) {
      const made = makePlan(seed, START, 60)
      // Tight: breathing and what seeps into the box are as much as what leaks.
      const leaks = { ...made.leaks, engineLPerH: 0.15, boxLPerH: 0.1 }
      const plan = { ...made, leaks, flights: [], faults: [] }
      const leak = { kind: 'leak' as const, size: 6, fromS: START + 30 * DAY, untilS: START + 60 * DAY }
      const before = runDays(plan, 30).state.tookInL
      const after = runDays({ ...plan, faults: [leak] }, 60).state.tookInL - before
      // The week before the leak is not the month before it, and a windy month lets in more than a still one.
      expect(after / before).toBeGreaterThan(4.2)
      expect(after / before).toBeLessThan(8)
    }
  })

  test('healthy rigs post, run, and rest for most of the time', () => {
    for (const seed of SEEDS) {
      const plan = makePlan(seed, START, 30)
      const { state, out } = runDays({ ...plan, flights: [], faults: [] }, 30)
      const returns = out.readings.filter((reading) => reading.place === 'return')
      expect(returns.length).toBeGreaterThan(30)
      expect(state.runs).toBeGreaterThan(0)
      expect(state.pumpMin / (30 * 1440)).toBeLessThan(0.4)
    }
  })

  test('its gels hold what is published for such gels: 0.044 to 0.060 kg/kg at 6 %, 25 degC', () => {
    // Ng et al. 2001 with the constants of Chua et al. 2004.
    expect(at('toth', 6)).toBeCloseTo(0.043895, 3)
    expect(at('toth', 60)).toBeCloseTo(0.419109, 2)
    // Wang & LeVan 2009 measured about 0.060 at 6 %.
    expect(at('freundlich', 6)).toBeCloseTo(0.06, 2)
    expect(at('dubinin', 6)).toBeCloseTo(0.055, 2)
  })

  test('saturation agrees with the IAPWS tables within 0.2 % from -10 to 40 degC', () => {
    const published = [
      [-10, 286.5331],
      [0, 611.2128],
      [15, 1705.677],
      [25, 3169.8245],
      [40, 7385.1105],
    ] as const
    for (const [tempC, pa] of published) expect(Math.abs(saturationPa(tempC) / pa - 1)).toBeLessThan(2e-3)
  })

  test('one seed is one rig, whatever was asked before', () => {
    const plan = makePlan(3, START, 10)
    const kind = structuredClone(kindOf(plan.seed))
    for (let seed = 0; seed < 60; seed++) kindOf(seed)
    expect(kindOf(plan.seed)).toEqual(kind)
  })
})
