import { saturationDensityGm3 } from '../air/vapour.ts'
import { densityPerPa25, pressure25Pa } from '../beads/isotherm.ts'
import type { RigPlan } from './plan.ts'
import { type RigState, isothermOfPlan } from './state.ts'
import type { Weather } from './weather.ts'

/** The simulation's step: short beside the box (a minute's air) and the loop (ten minutes' air and more). */
export const STEP_S = 60
const STEP_H = STEP_S / 3600
const KELVIN = 273.15

/** How the parts hang together during one step. */
export type Hookup = {
  /** Air that the pump moves, L/min; 0 at rest or if it is dead. */
  readonly flowLPerMin: number
  readonly isPumpPowered: boolean
  readonly engineLeakLPerH: number
  /** A leak fault holds: what the loop takes in is not what it did before. */
  readonly isLeaking: boolean
  readonly boxLeakLPerH: number
  readonly suctionShare: number
  /** Where the box draws from and where the beads deliver to. */
  readonly boxDraws: 'engine' | 'hangar'
  readonly beadsFeed: 'engine' | 'hangar'
  /** Whether the hoses join engine and box at all. */
  readonly isJoined: boolean
}

/** Share of a gap that closes in one step with a time constant in hours. */
function shareOf(hours: number): number {
  return 1 - Math.exp(-STEP_H / hours)
}

function stepTemperatures(plan: RigPlan, state: RigState, weather: Weather, hookup: Hookup): number {
  const before = state.metalC + state.heatK
  state.metalC += (weather.tempC - state.metalC) * shareOf(plan.engine.metalLagH)
  state.heatK *= 1 - shareOf(plan.engine.coolingH)
  state.boxBaseC += (weather.tempC - state.boxBaseC) * shareOf(0.5)
  const heatTo = hookup.isPumpPowered ? plan.pump.heatK : 0
  state.pumpHeatK += (heatTo - state.pumpHeatK) * shareOf(0.5)
  state.bedC += (weather.tempC - state.bedC) * shareOf(1)
  return state.metalC + state.heatK - before
}

/** Water that an exchange with air of another density brings in one step, g; a fast one ends in balance. */
function exchangeG(volumeL: number, fromGm3: number, toGm3: number, litresPerH: number): number {
  return ((fromGm3 - toGm3) / 1000) * volumeL * (1 - Math.exp((-litresPerH * STEP_H) / volumeL))
}

/** A cooling crankcase draws hangar air in, a warming one pushes its own out. Returns the litres drawn in. */
function breathe(plan: RigPlan, state: RigState, weather: Weather, warmedK: number): number {
  const share = (plan.leaks.breathing * Math.abs(warmedK)) / (state.metalC + state.heatK + KELVIN)
  const g = warmedK > 0 ? -state.engineG * share : (weather.densityGm3 / 1000) * plan.volumeL * share
  state.engineG += g
  state.fromHangarG += g
  return warmedK > 0 ? 0 : plan.volumeL * share
}

/** The days that `intakeLPerH` is the mean of, h: a week, so that hours of the day and cold nights have evened out. */
const INTAKE_HOURS = 7 * 24

/** Follows the hangar air that the loop takes in: breathed, leaked into engine and box, drawn in before the pump. */
function followIntake(plan: RigPlan, state: RigState, hookup: Hookup, breathedL: number): void {
  if (!hookup.isJoined) return
  const { flowLPerMin, suctionShare, engineLeakLPerH, boxLeakLPerH } = hookup
  const litres = breathedL + (engineLeakLPerH + boxLeakLPerH + 60 * flowLPerMin * suctionShare) * STEP_H
  state.intakeL += litres
  if (!hookup.isLeaking) state.intakeLPerH += (litres / STEP_H - state.intakeLPerH) * shareOf(INTAKE_HOURS)
}

/** Films, oil and liquid water give to the crankcase air and take from it. */
function stepStores(plan: RigPlan, state: RigState): void {
  const { filmRatio, filmHours, oilRatio, oilHours, evaporationLPerMin } = plan.engine
  const metalC = state.metalC + state.heatK
  const saturatedGm3 = saturationDensityGm3(metalC)
  const humidity = (1000 * state.engineG) / plan.volumeL / saturatedGm3
  const perRatioG = (saturationDensityGm3(15) * plan.volumeL) / 1000
  // A hot engine holds little and answers fast; the exchange is with relative humidity.
  if (filmRatio > 0) {
    const g = (filmRatio * perRatioG * humidity - state.filmG) * shareOf(filmHours)
    const bounded = Math.max(-state.filmG, Math.min(g, 0.5 * state.engineG))
    state.filmG += bounded
    state.engineG -= bounded
  }
  if (oilRatio > 0) {
    const g = (oilRatio * perRatioG * humidity - state.oilG) * shareOf(oilHours)
    const bounded = Math.max(-state.oilG, Math.min(g, 0.3 * state.engineG))
    state.oilG += bounded
    state.engineG -= bounded
  }
  const airGm3 = (1000 * state.engineG) / plan.volumeL
  // The last drops lie in few places: a gram or less keeps less air saturated.
  const wetting = airGm3 > saturatedGm3 ? 1 : Math.min(1, state.liquidG)
  const toAirG = exchangeG(plan.volumeL, saturatedGm3, airGm3, evaporationLPerMin * 60 * wetting)
  const evaporatedG = Math.min(state.liquidG, toAirG)
  state.liquidG -= evaporatedG
  state.engineG += evaporatedG
}

/** Passes air through the column; returns the density at its exit. Cells finer than the analysis uses, and not in equilibrium. */
function passBeads(plan: RigPlan, state: RigState, inGm3: number, volumeL: number): number {
  const isotherm = isothermOfPlan(plan)
  const perPa25 = densityPerPa25(isotherm.kind, state.bedC)
  const { scale, approach, cells, massG } = plan.beads
  const perG = (volumeL / 1000) * (cells / massG)
  let airGm3 = inGm3
  for (let i = 0; i < cells; i++) {
    const loading = state.cells[i] ?? 0
    const lostGm3 = approach * (airGm3 - perPa25 * pressure25Pa(isotherm, loading / scale))
    state.cells[i] = loading + lostGm3 * perG
    airGm3 -= lostGm3
  }
  state.takenUpG += ((inGm3 - airGm3) * volumeL) / 1000
  return airGm3
}

/** One step of air through box, beads and engine. */
function circulate(plan: RigPlan, state: RigState, weather: Weather, hookup: Hookup, volumeL: number): void {
  const volumeM3 = volumeL / 1000
  const engineGm3 = (1000 * state.engineG) / plan.volumeL
  const hangarShare = hookup.boxDraws === 'engine' ? hookup.suctionShare : 1
  const mixedGm3 = (1 - hangarShare) * engineGm3 + hangarShare * weather.densityGm3
  // Air from a hot wet engine beads in the cool hose and runs back.
  const inGm3 = Math.min(mixedGm3, saturationDensityGm3(state.boxBaseC))
  state.liquidG += (mixedGm3 - inGm3) * volumeM3
  // The box as a stirred pot, exactly: what leaves on average is what came in less what stayed.
  const boxGm3 = (1000 * state.boxG) / plan.boxL
  const stayedG = ((inGm3 - boxGm3) * plan.boxL * (1 - Math.exp(-volumeL / plan.boxL))) / 1000
  state.boxG += stayedG
  const exitGm3 = passBeads(plan, state, inGm3 - stayedG / volumeM3, volumeL)
  const fedGm3 = hookup.beadsFeed === 'engine' ? exitGm3 : weather.densityGm3
  state.engineG += (fedGm3 - engineGm3) * volumeM3
  // Air drawn in from the hangar before the pump pushes as much out of the engine; beads that feed the hangar lose theirs.
  state.fromHangarG += hangarShare * (weather.densityGm3 - engineGm3) * volumeM3
  state.fromHangarG += (fedGm3 - exitGm3) * volumeM3
}

/** Moves all water by one step of 60 s. Changes `state`; no water is made or lost. */
export function stepAir(plan: RigPlan, state: RigState, weather: Weather, hookup: Hookup): void {
  const warmedK = stepTemperatures(plan, state, weather, hookup)
  const breathedL = breathe(plan, state, weather, warmedK)
  const leakG = exchangeG(
    plan.volumeL,
    weather.densityGm3,
    (1000 * state.engineG) / plan.volumeL,
    hookup.engineLeakLPerH,
  )
  const boxGm3 = (1000 * state.boxG) / plan.boxL
  const boxLeakG = exchangeG(plan.boxL, weather.densityGm3, boxGm3, hookup.boxLeakLPerH)
  state.engineG += leakG
  state.boxG += boxLeakG
  state.fromHangarG += leakG + boxLeakG
  followIntake(plan, state, hookup, breathedL)
  stepStores(plan, state)
  if (!hookup.isJoined) return
  const siphonL = plan.leaks.siphonLPerHK * Math.max(0, state.metalC + state.heatK - weather.tempC) * STEP_H
  const movedL = hookup.flowLPerMin > 0 ? hookup.flowLPerMin * (STEP_S / 60) : siphonL
  if (movedL > 0) circulate(plan, state, weather, hookup, movedL)
  else {
    const engineGm3 = (1000 * state.engineG) / plan.volumeL
    const g = exchangeG(plan.boxL, engineGm3, (1000 * state.boxG) / plan.boxL, plan.leaks.restLPerH)
    state.boxG += g
    state.engineG -= g
  }
}
