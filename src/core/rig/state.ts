import { vapourDensityGm3 } from '../air/vapour.ts'
import { bakeResidualKgKg } from '../beads/bake.ts'
import { type FastIsotherm, tabulateIsotherm } from '../beads/isotherm.ts'
import { findBeadKind } from '../beads/kinds.ts'
import type { RigPlan } from './plan.ts'
import { type Random, randomOfSeed } from './random.ts'
import { type WeatherState, startWeather, weatherAt } from './weather.ts'

/** Where all the water is and what the parts are doing. Plain data: it can be stored and goes on where it stopped. */
export type RigState = {
  atS: number
  random: Random
  weather: WeatherState
  /** Temperatures, degC: metal without the heat of a flight, the heat, the box, the column. */
  metalC: number
  heatK: number
  boxBaseC: number
  pumpHeatK: number
  bedC: number
  /** Water, g. */
  engineG: number
  boxG: number
  filmG: number
  oilG: number
  liquidG: number
  cells: number[]
  /** Ledger, g: what came in from the hangar and by flights less what left, and what bakes drove out. */
  fromHangarG: number
  fromFlightsG: number
  bakedOutG: number
  /** Taken up by the beads since the last bake, g. */
  takenUpG: number
  /** Hangar air that the joined loop has taken in, L; and its mean over the last days without a leak fault, L/h. */
  intakeL: number
  intakeLPerH: number
  sensedPct: number
  supplySensedPct: number
  frozenPct: number | null
  /** What the outlet was told, and its reported state with the time of its last change. */
  isCommanded: boolean
  wasCommanded: boolean
  commandedAtS: number
  isOn: boolean
  isHookedUp: boolean
  pumpMin: number
  energyWh: number
  runs: number
  jarsUsed: number
  /** Last posted values, for hubs that post on change or repeat. */
  postedAtS: number
  renewedAtS: number
  posted: { humidityPct: number; tempC: number; isOn: boolean } | null
}

/** Isotherm tables by kind: built once for each, never changed. */
const tables = new Map<string, FastIsotherm>()

/** The isotherm of a plan's beads; an unknown kind is an error of the plan and throws. */
export function isothermOfPlan(plan: RigPlan): FastIsotherm {
  const known = tables.get(plan.beads.kind)
  if (known !== undefined) return known
  const kind = findBeadKind(plan.beads.kind)
  if (kind === null) throw new RangeError(`no kind of beads is called ${plan.beads.kind}`)
  const table = tabulateIsotherm(kind)
  tables.set(kind.name, table)
  return table
}

/** Loading right after a bake, kg/kg. */
export function bakedLoadingKgKg(plan: RigPlan, bakeC: number): number {
  return plan.beads.scale * bakeResidualKgKg(isothermOfPlan(plan).kind, bakeC)
}

/** A rig at rest in the middle of its band, in equilibrium with its films and oil. */
export function startRig(plan: RigPlan): RigState {
  const random = randomOfSeed(plan.seed)
  const weather = startWeather(random, plan.climate)
  const { tempC } = weatherAt(plan.startS, plan.climate, weather)
  const middlePct = (plan.outlet.startPct + plan.outlet.stopPct) / 2
  const engineG = (vapourDensityGm3(middlePct, tempC) * plan.volumeL) / 1000
  const atRatioG = (vapourDensityGm3(middlePct, 15) * plan.volumeL) / 1000
  const loading = bakedLoadingKgKg(plan, plan.beads.firstBakeC) + plan.beads.firstLoadingKgKg
  return {
    atS: plan.startS,
    random,
    weather,
    metalC: tempC,
    heatK: 0,
    boxBaseC: tempC,
    pumpHeatK: 0,
    bedC: tempC,
    engineG,
    boxG: (vapourDensityGm3(middlePct, tempC) * plan.boxL) / 1000,
    filmG: plan.engine.filmRatio * atRatioG,
    oilG: plan.engine.oilRatio * atRatioG,
    liquidG: 0,
    cells: Array.from({ length: plan.beads.cells }, () => loading),
    fromHangarG: 0,
    fromFlightsG: 0,
    bakedOutG: 0,
    takenUpG: plan.beads.firstLoadingKgKg * plan.beads.massG,
    intakeL: 0,
    intakeLPerH: plan.leaks.engineLPerH + plan.leaks.boxLPerH,
    sensedPct: middlePct,
    supplySensedPct: 1,
    frozenPct: null,
    isCommanded: false,
    wasCommanded: false,
    commandedAtS: plan.startS,
    isOn: false,
    isHookedUp: true,
    pumpMin: 0,
    energyWh: 0,
    runs: 0,
    jarsUsed: 1,
    postedAtS: 0,
    renewedAtS: 0,
    posted: null,
  }
}

/** All the water there is, g: equals the start plus the ledger, whatever happens. */
export function waterInRigG(plan: RigPlan, state: RigState): number {
  const cellMassG = plan.beads.massG / plan.beads.cells
  const bedG = state.cells.reduce((sum, loading) => sum + loading, 0) * cellMassG
  return bedG + state.engineG + state.boxG + state.filmG + state.oilG + state.liquidG
}
