import type { RigPlan } from '../../../src/core/rig/plan.ts'
import { type Random, randomOfSeed } from '../../../src/core/rig/random.ts'
import type { BedKind } from './bed.ts'
import { loadingAtKgKg } from './gel.ts'
import { type AirState, type HangarAir, AIR_STEP_S, startAir, stepHangar } from './hangar-air.ts'
import { kindOf } from './kind.ts'
import { densityGm3, saturationPa } from './vapour.ts'

/** Everything that changes. Plain data. Water in g, temperatures in degC. */
export type State = {
  atS: number
  readonly random: Random
  readonly air: AirState
  hangar: HangarAir
  metalC: number
  hotK: [number, number]
  boxC: number
  bedC: number
  lastPressureHpa: number
  mainG: number
  pocketG: number
  filmG: number
  oilG: number
  poolG: number
  hoseG: number
  boxG: number
  loadings: number[]
  fromOutsideG: number
  fromFlightsG: number
  bakedOutG: number
  takenUpG: number
  /** Outside air that the joined loop took in, L; and per hour, as remembered from the last week without a leak fault. */
  tookInL: number
  tookInLPerH: number
  isHookedUp: boolean
  isOn: boolean
  wasOn: boolean
  switchedAtS: number
  wantsOn: boolean
  runs: number
  pumpMin: number
  filterPct: number
  elementPct: number
  wanderPct: number
  soakPct: number
  heldPct: number | null
  jarsBaked: number
  dueAtS: number
  posts: number
  postedAtS: number
  renewedAtS: number
  held: { humidityPct: number; tempC: number } | null
  shown: { humidityPct: number; isOn: boolean } | null
}

export function bedOf(plan: RigPlan): BedKind {
  const { gel, radiusMm, bypass } = kindOf(plan.seed)
  const { massG, scale } = plan.beads
  return { gel, massG, scale, cells: Math.max(14, Math.min(36, Math.round(massG / 70))), radiusMm, bypass }
}

/** Loading after a long bake in a room of 12 hPa, kg/kg. */
export function bakedKgKg(plan: RigPlan, bakeC: number): number {
  const { gel } = kindOf(plan.seed)
  return plan.beads.scale * loadingAtKgKg(gel, 1200, bakeC)
}

export const volumesL = (plan: RigPlan) => {
  const { pocketShare } = kindOf(plan.seed)
  return { mainL: plan.volumeL * (1 - pocketShare), pocketL: plan.volumeL * pocketShare }
}

/** A rig that has stood in its band for long, in the weather of its place. */
export function start(plan: RigPlan): State {
  const random = randomOfSeed(plan.seed * 3 + 11)
  const kind = kindOf(plan.seed)
  const air = startAir(random, kind.place)
  let hangar = stepHangar(plan.startS, random, kind.place, air)
  for (let i = -864; i <= 0; i++) hangar = stepHangar(plan.startS + i * AIR_STEP_S, random, kind.place, air)
  const middlePct = (plan.outlet.startPct + plan.outlet.stopPct) / 2
  const gm3 = (densityGm3(saturationPa(hangar.tempC), hangar.tempC) * middlePct) / 100
  const { mainL, pocketL } = volumesL(plan)
  const storeG = (densityGm3(saturationPa(15), 15) * plan.volumeL) / 1000
  const bed = bedOf(plan)
  const fresh = bakedKgKg(plan, plan.beads.firstBakeC) + plan.beads.firstLoadingKgKg
  return {
    atS: plan.startS,
    random,
    air,
    hangar,
    metalC: hangar.tempC,
    hotK: [0, 0],
    boxC: hangar.tempC,
    bedC: hangar.tempC,
    lastPressureHpa: hangar.pressureHpa,
    mainG: (gm3 * mainL) / 1000,
    pocketG: (gm3 * pocketL) / 1000,
    filmG: kind.filmTimes * storeG * (middlePct / 100) ** 0.6,
    oilG: (kind.oilTimes * storeG * middlePct) / 100,
    poolG: 0,
    hoseG: (gm3 * kind.hoseL) / 1000,
    boxG: (gm3 * plan.boxL) / 1000,
    loadings: Array.from({ length: bed.cells }, () => fresh),
    fromOutsideG: 0,
    fromFlightsG: 0,
    bakedOutG: 0,
    takenUpG: plan.beads.firstLoadingKgKg * bed.massG,
    tookInL: 0,
    tookInLPerH: plan.leaks.engineLPerH + plan.leaks.boxLPerH,
    isHookedUp: true,
    isOn: false,
    wasOn: false,
    switchedAtS: plan.startS,
    wantsOn: false,
    runs: 0,
    pumpMin: 0,
    filterPct: middlePct,
    elementPct: middlePct,
    wanderPct: 0,
    soakPct: 0,
    heldPct: null,
    jarsBaked: 0,
    dueAtS: plan.startS,
    posts: 0,
    postedAtS: 0,
    renewedAtS: 0,
    held: null,
    shown: null,
  }
}

export function bedWaterG(plan: RigPlan, state: State): number {
  return (state.loadings.reduce((sum, one) => sum + one, 0) * plan.beads.massG) / state.loadings.length
}

/** All water, g: the start plus what came from outside and by flights, less what was baked out. */
export function waterG(plan: RigPlan, state: State): number {
  const airG = state.mainG + state.pocketG + state.hoseG + state.boxG
  return airG + state.filmG + state.oilG + state.poolG + bedWaterG(plan, state)
}
