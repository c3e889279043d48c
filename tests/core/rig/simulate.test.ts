import { describe, expect, test } from 'vitest'
import { type Fault, type Flight, type RigPlan, typicalPlan } from '../../../src/core/rig/plan.ts'
import { nextNormal, randomOfSeed } from '../../../src/core/rig/random.ts'
import { type RigOutput, advanceRig, truthOf } from '../../../src/core/rig/simulate.ts'
import { startRig, waterInRigG } from '../../../src/core/rig/state.ts'
import { CLIMATES } from '../../../src/core/rig/weather.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const START = 1_750_000_000 - (1_750_000_000 % DAY)
const out = (): RigOutput => ({ readings: [], log: [] })

const flight = (day: number, change: Partial<Flight> = {}): Flight => ({
  offS: START + day * DAY + 9 * HOUR,
  landS: START + day * DAY + 11 * HOUR,
  onS: START + day * DAY + 13 * HOUR,
  waterG: 6,
  heatK: 60,
  isLogged: true,
  isRigLogged: false,
  hub: 'on',
  ...change,
})
const always = (kind: Fault['kind'], size = 1, fromDay = 0, days = 1e4): Fault => ({
  kind,
  size,
  fromS: START + fromDay * DAY,
  untilS: START + (fromDay + days) * DAY,
})
const plan = (change: Partial<RigPlan> = {}): RigPlan => ({ ...typicalPlan(7, START), ...change })

function runDays(rig: RigPlan, days: number) {
  const state = startRig(rig)
  const result = out()
  advanceRig(rig, state, START + days * DAY, result)
  return { state, ...result, returns: result.readings.filter((reading) => reading.place === 'return') }
}

const last = (rig: RigPlan, days = 10) => runDays(rig, days).returns.at(-1)

describe('no water is made or lost', () => {
  const base = plan()
  test.each<[string, RigPlan]>([
    ['at rest and running', base],
    [
      'flights, a bake',
      plan({
        flights: [flight(3), flight(9, { hub: 'silent' })],
        bakes: [{ atS: START + 12 * DAY, tempC: 110, isLogged: true, isWeighed: true }],
      }),
    ],
    ['supply hose off', plan({ faults: [always('supply-off', 1, 2)] })],
    ['return hose off', plan({ faults: [always('return-off', 1, 2)] })],
    ['leaks everywhere', plan({ faults: [always('leak', 20), always('suction-leak', 0.1)] })],
    ['cap off', plan({ faults: [always('cap-off', 300)] })],
    [
      'freezing, siphoning, breathing',
      plan({
        climate: { ...CLIMATES.cold, meanC: -8 },
        leaks: { ...base.leaks, breathing: 1, siphonLPerHK: 2 },
        engine: { ...base.engine, filmRatio: 2, oilRatio: 6 },
        flights: [flight(2)],
      }),
    ],
  ])('%s', (_, rig) => {
    const before = waterInRigG(rig, startRig(rig))
    const { state } = runDays(rig, 20)
    const ledger = before + state.fromHangarG + state.fromFlightsG - state.bakedOutG
    expect(Math.abs(waterInRigG(rig, state) / ledger - 1)).toBeLessThan(1e-6)
    expect(
      Math.min(...state.cells, state.engineG, state.boxG, state.filmG, state.oilG, state.liquidG),
    ).toBeGreaterThanOrEqual(0)
  })
})

describe('determinism', () => {
  test('in one piece and in many, through JSON, gives the same', () => {
    const rig = plan({ flights: [flight(2)], hub: { ...plan().hub, lostShare: 0.05 } })
    const whole = runDays(rig, 6)
    let state = startRig(rig)
    const pieces = out()
    for (let atS = START; atS < START + 6 * DAY; atS += 4 * HOUR + 420) {
      advanceRig(rig, state, Math.min(atS + 4 * HOUR + 420, START + 6 * DAY), pieces)
      state = JSON.parse(JSON.stringify(state))
    }
    expect(pieces.readings).toEqual(whole.readings)
    expect(pieces.log).toEqual(whole.log)
    expect(state).toEqual(JSON.parse(JSON.stringify(whole.state)))
  })

  test('another seed is another rig', () => {
    expect(runDays({ ...plan(), seed: 8 }, 1).readings).not.toEqual(runDays(plan(), 1).readings)
  })

  test('the normal generator has mean 0 and SD 1', () => {
    const random = randomOfSeed(3)
    const values = Array.from({ length: 20_000 }, () => nextNormal(random))
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length
    const sd = Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length)
    expect(Math.abs(mean)).toBeLessThan(0.03)
    expect(Math.abs(sd - 1)).toBeLessThan(0.02)
  })
})

/** Common practice, no published source: how such a rig is known to behave. */
describe('what owners see', () => {
  test('a saw-tooth between the limits over the week, with a short spike at pump starts', () => {
    const rig = plan()
    const { returns, state } = runDays(rig, 28)
    const settled = returns.filter((reading) => reading.atS > START + 7 * DAY)
    const humidities = settled.map((reading) => reading.humidityPct ?? 0)
    expect(state.runs / 4).toBeGreaterThan(3)
    expect(state.runs / 4).toBeLessThan(60)
    expect(Math.min(...humidities)).toBeGreaterThan(5)
    const pumpStarts = settled.filter(
      (reading, i) => reading.pumpOn === true && settled[i - 1]?.pumpOn === false,
    )
    expect(pumpStarts.length).toBeGreaterThan(6)
    // The spike: engine air that arrives reads higher than the box did at rest, and an hour on it is lower than both.
    const rises: number[] = []
    for (const start of pumpStarts.slice(0, -1)) {
      const restPct = settled.findLast(({ atS }) => atS < start.atS)?.humidityPct ?? 0
      const within = (minutes: number) =>
        settled
          .filter(({ atS }) => atS >= start.atS && atS <= start.atS + minutes * 60)
          .map(({ humidityPct }) => humidityPct ?? 0)
      rises.push(Math.max(...within(30)) - restPct)
      expect(within(60).at(-1)).toBeLessThan(restPct)
    }
    rises.sort((a, b) => a - b)
    expect(rises[Math.floor(rises.length / 2)]).toBeGreaterThan(0.5)
    expect(rises.filter((rise) => rise > 0).length).toBeGreaterThan(0.8 * rises.length)
    expect(Math.max(...humidities)).toBeGreaterThan(15)
    expect(Math.max(...humidities)).toBeLessThan(25)
  })

  test('right after a flight the return air reads about 98 % for a while, then dries', () => {
    const rig = plan({ flights: [flight(3)] })
    const { returns } = runDays(rig, 6)
    const after = returns.filter((reading) => reading.atS > START + 3 * DAY + 13 * HOUR)
    const wettest = Math.max(...after.slice(0, 24).map((reading) => reading.humidityPct ?? 0))
    expect(wettest).toBeGreaterThan(95)
    expect(wettest).toBeLessThanOrEqual(100)
    expect(after.at(-1)?.humidityPct).toBeLessThan(20)
  })

  test('the humidity of a resting box follows the temperature, not only the water', () => {
    const rig = plan({ faults: [always('stuck-off')] })
    const { returns } = runDays(rig, 2)
    const warm = returns.reduce((a, b) => ((a.tempC ?? 0) > (b.tempC ?? 0) ? a : b))
    const cold = returns.reduce((a, b) => ((a.tempC ?? 99) < (b.tempC ?? 99) ? a : b))
    expect(warm.tempC).toBeGreaterThan((cold.tempC ?? 0) + 2)
  })
})

describe('faults', () => {
  test('a dead pump dries nothing', () => {
    const dead = last(plan({ faults: [always('pump-dead', 1, 2)], hub: { ...plan().hub, hasPower: true } }))
    expect(dead?.pumpOn).toBe(true)
    expect(dead?.humidityPct).toBeGreaterThan(15)
    expect(dead?.powerW).toBeLessThan(1)
  })

  test('an open loop reads the hangar', () => {
    const { returns, readings } = runDays(plan({ faults: [always('return-off', 1, 2)] }), 6)
    const ambient = readings.findLast((reading) => reading.place === 'ambient')
    const warmed = returns.at(-1)
    expect(warmed?.humidityPct).toBeGreaterThan(30)
    expect(ambient?.humidityPct).toBeGreaterThan(30)
  })

  test('stuck outlets go past their limits', () => {
    expect(last(plan({ faults: [always('stuck-off')] }), 20)?.humidityPct).toBeGreaterThan(20)
    expect(last(plan({ faults: [always('stuck-on', 1, 3)] }))?.humidityPct).toBeLessThan(6)
  })

  test('silence is silent, a frozen sensor repeats', () => {
    expect(last(plan({ faults: [always('silent', 1, 5)] }))?.atS).toBeLessThanOrEqual(START + 5 * DAY)
    const { returns } = runDays(plan({ faults: [always('frozen', 1, 5)] }), 8)
    const values = new Set(returns.filter((r) => r.atS > START + 5 * DAY).map((r) => r.humidityPct))
    expect(values.size).toBe(1)
  })

  test('a leak makes for more runs and more water', () => {
    const sound = runDays(plan(), 20).state
    const leaky = runDays(plan({ faults: [always('leak', 6)] }), 20).state
    expect(leaky.runs).toBeGreaterThan(1.5 * sound.runs)
    expect(leaky.takenUpG).toBeGreaterThan(2 * sound.takenUpG)
  })

  test.each([5, 12])(
    'a leak of %d times lifts all that gets in so many times, not only what leaked before',
    (size) => {
      // Tight, and it breathes, seeps and draws in before the pump: half of what gets in is no engine leak.
      const leaks = { ...plan().leaks, engineLPerH: 0.2, boxLPerH: 0.06, breathing: 1, suctionShare: 0.01 }
      const engine = { ...plan().engine, filmRatio: 0, oilRatio: 0 }
      const sound = plan({ leaks, engine })
      const before = runDays(sound, 28)
      const after = runDays({ ...sound, faults: [always('leak', size, 28)] }, 56)
      const inBefore = truthOf(sound, before.state).intakeL
      const inAfter = truthOf(sound, after.state).intakeL - inBefore
      expect(inBefore / (28 * 24)).toBeGreaterThan(0.3)
      expect(inAfter / inBefore / size).toBeGreaterThan(0.9)
      expect(inAfter / inBefore / size).toBeLessThan(1.1)
      // And the water with it: in the same weather, without a store that could hide it.
      const same = runDays(sound, 56).state
      const times = (after.state.takenUpG - before.state.takenUpG) / (same.takenUpG - before.state.takenUpG)
      expect(times / size).toBeGreaterThan(0.85)
      expect(times / size).toBeLessThan(1.15)
    },
  )

  test('used beads never reach the stop limit, and a bake mends that', () => {
    const used = plan({ beads: { ...plan().beads, firstLoadingKgKg: 0.12 } })
    expect(last(used, 20)?.pumpOn).toBe(true)
    expect(truthOf(used, runDays(used, 20).state).exitPct).toBeGreaterThan(6)
    const baked = { ...used, bakes: [{ atS: START + 10 * DAY, tempC: 120, isLogged: true, isWeighed: true }] }
    const { state, log } = runDays(baked, 20)
    expect(truthOf(baked, state).exitPct).toBeLessThan(2)
    expect(log).toHaveLength(1)
    expect(Number(log[0]?.detail['beforeG']) - Number(log[0]?.detail['afterG'])).toBeGreaterThan(150)
  })
})

test('an unknown kind of beads is an error of the plan', () => {
  expect(() => startRig(plan({ beads: { ...plan().beads, kind: 'marbles' } }))).toThrow('marbles')
})
