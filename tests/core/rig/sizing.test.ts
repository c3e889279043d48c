import { describe, expect, test } from 'vitest'
import { typicalPlan } from '../../../src/core/rig/plan.ts'
import { advanceRig } from '../../../src/core/rig/simulate.ts'
import { type SizingQuestion, sizeRig } from '../../../src/core/rig/sizing.ts'
import { startRig } from '../../../src/core/rig/state.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const START = 1_743_465_600

const QUESTION: SizingQuestion = {
  volumeL: 45,
  flowLPerMin: 2.5,
  beadMassG: 2000,
  beadKind: 'regular-gel',
  band: { startPct: 15, stopPct: 6 },
  climate: { humidityPct: 70, tempC: 11 },
  flightEveryDays: 12,
  gPerFlight: 6,
  leakLPerH: 1.1,
  pumpW: 4,
}

function answerTo(change: Partial<SizingQuestion>) {
  const result = sizeRig({ ...QUESTION, ...change })
  if (!result.ok) throw new Error(result.reason)
  return result.answer
}

describe('sizing', () => {
  test('agrees with the simulation of the same rig within a factor of two', () => {
    const plan = { ...typicalPlan(5, START), climate: { ...typicalPlan(5, START).climate, seasonK: 0 } }
    const state = startRig(plan)
    advanceRig(plan, state, START + 28 * DAY, { readings: [], log: [] })
    const answer = answerTo({})
    const pairs = [
      [answer.runsPerWeek.mid, state.runs / 4],
      [answer.runMin.mid ?? 0, state.pumpMin / state.runs],
      [answer.idleGPerWeek.mid, state.takenUpG / 4],
    ] as const
    for (const [told, simulated] of pairs) {
      expect(told / simulated).toBeGreaterThan(0.5)
      expect(told / simulated).toBeLessThan(2)
    }
  })

  test('dry-down of a flight agrees with the simulation within a factor of two', () => {
    const base = typicalPlan(5, START)
    const onS = START + 4 * DAY
    const flight = {
      offS: onS - 8 * HOUR,
      landS: onS - 6 * HOUR,
      onS,
      waterG: 8,
      heatK: 30,
      isLogged: true,
      isRigLogged: true,
      hub: 'on' as const,
    }
    const plan = { ...base, climate: { ...base.climate, seasonK: 0 }, flights: [flight] }
    const state = startRig(plan)
    advanceRig(plan, state, onS, { readings: [], log: [] })
    const waterG = state.liquidG
    while (state.atS < onS + 5 * DAY && (state.isOn || state.atS < onS + HOUR)) {
      advanceRig(plan, state, state.atS + 600, { readings: [], log: [] })
    }
    const told = answerTo({ gPerFlight: waterG }).dryDownH?.mid ?? 0
    const simulated = (state.atS - onS) / HOUR
    expect(told / simulated).toBeGreaterThan(0.5)
    expect(told / simulated).toBeLessThan(2)
  })

  test('known quantities leave no range, unknown ones widen it', () => {
    const known = answerTo({})
    const unknown = answerTo({ leakLPerH: null, gPerFlight: null, pumpW: null })
    expect(unknown.idleGPerWeek.high / unknown.idleGPerWeek.low).toBeGreaterThan(
      known.idleGPerWeek.high / known.idleGPerWeek.low,
    )
    expect(unknown.assumed.length).toBe(known.assumed.length + 3)
  })

  test('low, mid and high are in order', () => {
    for (const [name, value] of Object.entries(answerTo({ leakLPerH: null, gPerFlight: null }))) {
      if (value === null || typeof value === 'number' || 'length' in value) continue
      const [low, mid, high] = [value.low, value.mid, value.high].map((one) => one ?? Infinity)
      expect([name, Number(low) <= Number(mid) && Number(mid) <= Number(high)]).toEqual([name, true])
    }
  })

  // Mixing of exit air (0.7 %) and hangar air: (60 x 0.7 + 10.05 x 80) / 70.05 = 12.1 %, over the 6 % of `stop`.
  test('a loop whose air settles above the band never rests, and has no run and no dry-down with an end', () => {
    const leaky = { flowLPerMin: 1, leakLPerH: 10, climate: { humidityPct: 80, tempC: 15 } }
    const answer = answerTo(leaky)
    const endless = { low: null, mid: null, high: null }
    expect(answer.neverRestsShare).toBe(1)
    expect(answer.settlesPct.mid).toBeCloseTo(12.1, 1)
    expect(answer.dryDownH).toEqual(endless)
    expect(answer.runMin).toEqual(endless)
    expect(answer.runsPerWeek).toEqual({ low: 0, mid: 0, high: 0 })
    expect(answer.dutyPct).toEqual({ low: 100, mid: 100, high: 100 })
    expect(answer.whPerWeek.mid).toBeCloseTo(4 * 168, 6)
    expect(answer.daysPerFill.high).toBeLessThan(answerTo({}).daysPerFill.high)
    expect(answerTo({}).neverRestsShare).toBe(0)
  })

  test('where some of such rigs would never rest, only their end of the range is open', () => {
    const answer = answerTo({
      leakLPerH: null,
      volumeL: 65,
      flowLPerMin: 1,
      band: { startPct: 13, stopPct: 2.5 },
    })
    expect(answer.neverRestsShare).toBeGreaterThan(0.1)
    expect(answer.neverRestsShare).toBeLessThan(0.5)
    for (const range of [answer.dryDownH, answer.runMin]) {
      expect(range?.low).toBeGreaterThan(0)
      expect(range?.mid).toBeGreaterThan(0)
      expect(range?.high).toBeNull()
    }
  })

  test('twice the beads last about twice as long, twice the leak fills them sooner, more flow dries faster', () => {
    const base = answerTo({})
    const twice = answerTo({ beadMassG: 4000 })
    expect(twice.daysPerFill.mid / base.daysPerFill.mid).toBeGreaterThan(1.7)
    expect(answerTo({ leakLPerH: 2.2 }).daysPerFill.mid).toBeLessThan(base.daysPerFill.mid)
    expect(answerTo({ flowLPerMin: 5 }).dryDownH?.mid).toBeLessThan(base.dryDownH?.mid ?? 0)
  })

  test('without flights there is no dry-down and no number of flights', () => {
    const answer = answerTo({ flightEveryDays: null })
    expect(answer.dryDownH).toBeNull()
    expect(answer.flightsPerFill).toBeNull()
    expect(answer.daysPerFill.mid).toBeGreaterThan(answerTo({}).daysPerFill.mid)
  })

  // 10 g at 25 degC and 2.5 L/min take 3 h on the plateau, at -5 degC and 1 L/min 51 h: g/(F (rho_sat - rho_exit)).
  test('cold engines take days', () => {
    const warm = answerTo({ gPerFlight: 10, climate: { humidityPct: 70, tempC: 25 } })
    const cold = answerTo({ gPerFlight: 10, flowLPerMin: 1, climate: { humidityPct: 70, tempC: -5 } })
    expect(warm.dryDownH?.mid).toBeGreaterThan(3)
    expect(warm.dryDownH?.mid).toBeLessThan(7)
    expect(cold.dryDownH?.mid).toBeGreaterThan(45)
  })

  test.each<[Partial<SizingQuestion>, string]>([
    [{ volumeL: 0 }, 'out_of_range'],
    [{ flowLPerMin: Number.NaN }, 'out_of_range'],
    [{ band: { startPct: 6, stopPct: 15 } }, 'band_upside_down'],
    [{ beadKind: 'marbles' }, 'unknown_beads'],
    [{ climate: { humidityPct: 12, tempC: 20 } }, 'climate_in_band'],
  ])('%j is refused: %s', (change, reason) => {
    expect(sizeRig({ ...QUESTION, ...change })).toMatchObject({ ok: false, reason })
  })
})
