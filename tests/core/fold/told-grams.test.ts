import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { type Flight, type RigPlan, settingsOfPlan, typicalPlan } from '../../../src/core/rig/plan.ts'
import { type RigOutput, advanceRig, truthOf } from '../../../src/core/rig/simulate.ts'
import { startRig } from '../../../src/core/rig/state.ts'
import { CLIMATES } from '../../../src/core/rig/weather.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const START = 1_750_032_000
const LANDINGS = [6, 13, 20].map((day) => START + day * DAY + 11 * HOUR)

const flight = (landS: number): Flight => ({
  offS: landS - 2 * HOUR,
  landS,
  onS: landS + HOUR,
  waterG: 9,
  heatK: 60,
  isLogged: true,
  isRigLogged: true,
  hub: 'on',
})

/** Told grams beside what the beads took up in the three days from the landing. */
function toldAndTrue(plan: RigPlan): { told: number; taken: number; tookH: number }[] {
  const state = startRig(plan)
  const out: RigOutput = { readings: [], log: [] }
  const trueG: number[] = []
  for (let atS = START; atS <= START + 27 * DAY; atS += HOUR) {
    advanceRig(plan, state, atS, out)
    trueG.push(truthOf(plan, state).takenUpG)
  }
  const at = (atS: number): number => trueG[Math.ceil((atS - START) / HOUR)] ?? 0
  // Its beads and bake are known from the start.
  const log = [{ atS: START, what: 'bake' as const, detail: { tempC: '120' } }, ...out.log]
  const settings = [{ fromS: 0, settings: settingsOfPlan(plan) }]
  const { events } = advance(newMemory(START), { readings: out.readings, log, settings }, START + 27 * DAY)
  return events
    .filter(({ rule, event }) => rule === 'wet-after-flight' && event === 'over')
    .map(({ evidence }) => ({
      told: Number(evidence['movedG']),
      taken: at(Number(evidence['flightAtS']) + 3 * DAY) - at(Number(evidence['flightAtS'])),
      tookH: Number(evidence['tookH']),
    }))
}

test.each([
  ['in a plain engine', 0.5, 0, 60],
  ['in one whose films and oil hold more than its air', 2, 4, 60],
  ['in one whose drops evaporate slowly', 1, 2, 0.7],
])(
  'the water told after a flight is what the beads took up, %s',
  (_, filmRatio, oilRatio, evaporationLPerMin) => {
    const typical = typicalPlan(11, START)
    const plan: RigPlan = {
      ...typical,
      climate: { ...CLIMATES.heated, meanC: 15, seasonK: 0, humidityPct: 60 },
      engine: { ...typical.engine, filmRatio, oilRatio, evaporationLPerMin },
      flights: LANDINGS.map(flight),
    }
    const all = toldAndTrue(plan)
    expect(all).toHaveLength(LANDINGS.length)
    for (const { told, taken, tookH } of all) {
      expect(taken).toBeGreaterThan(8)
      // Two days more add what leaks in and the last of the oil.
      expect(told / taken).toBeGreaterThan(0.85)
      expect(told / taken).toBeLessThan(1.1)
      expect(tookH).toBeLessThan(36)
    }
  },
)
