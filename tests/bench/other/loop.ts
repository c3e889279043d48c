/** Water moves: crankcase, dead ends, film, oil and pool; hose, box and column. Nothing is made or lost. */
import type { FaultKind, Flight, RigPlan } from '../../../src/core/rig/plan.ts'
import { balanceGm3, creepBed, passBed } from './bed.ts'
import { kindOf } from './kind.ts'
import { type State, bedOf, volumesL } from './state.ts'
import { densityGm3, saturationPa, surfacePa } from './vapour.ts'

export const STEP_S = 30
const HOURS = STEP_S / 3600

export const faultOf = (plan: RigPlan, kind: FaultKind, atS: number) =>
  plan.faults.find((one) => one.kind === kind && atS >= one.fromS && atS < one.untilS) ?? null

const share = (hours: number) => 1 - Math.exp(-HOURS / hours)
const saturatedGm3 = (tempC: number) => densityGm3(saturationPa(tempC), tempC)

export const engineC = (state: State) => state.metalC + state.hotK[0] + state.hotK[1]
export const mainGm3 = (plan: RigPlan, state: State) => (1000 * state.mainG) / volumesL(plan).mainL

function stepHeat(plan: RigPlan, state: State): number {
  const kind = kindOf(plan.seed)
  const before = engineC(state)
  state.metalC += (state.hangar.tempC - state.metalC) * share(kind.metalLagH)
  state.hotK = [state.hotK[0] * (1 - share(kind.coolingH[0])), state.hotK[1] * (1 - share(kind.coolingH[1]))]
  const isPowered = state.isOn && faultOf(plan, 'pump-dead', state.atS)?.size !== 1
  state.boxC += (state.hangar.tempC + (isPowered ? plan.pump.heatK : 0) - state.boxC) * share(0.4)
  state.bedC += (state.hangar.tempC - state.bedC) * share(1.5)
  return engineC(state) - before
}

const isMoving = (plan: RigPlan, state: State) => state.isOn && faultOf(plan, 'pump-dead', state.atS) === null

/** A pump gives a little less when cold and stiff. */
const pumpLPerH = (plan: RigPlan, { hangar }: State) =>
  60 * plan.flowLPerMin * (1 + 0.004 * Math.max(-25, Math.min(15, hangar.tempC - 15)))

/** Counts what a joined loop takes in; `litres` through the engine and the box, and what the pump draws in beside it. */
function countIntake(plan: RigPlan, state: State, litres: number): void {
  const strayShare = faultOf(plan, 'suction-leak', state.atS)?.size ?? plan.leaks.suctionShare
  const allL = litres + (isMoving(plan, state) ? strayShare * pumpLPerH(plan, state) * HOURS : 0)
  state.tookInL += allL
  if (faultOf(plan, 'leak', state.atS) === null)
    state.tookInLPerH += (allL / HOURS - state.tookInLPerH) * share(168)
}

/** Exchange of crankcase air with the hangar: breathing with heat and barometer, and what is not tight. */
function stepIngress(plan: RigPlan, state: State, warmedK: number, flight: Flight | null): void {
  const { breathing, stillShare } = kindOf(plan.seed)
  const { mainL } = volumesL(plan)
  const { hangar } = state
  const fellHpa = state.lastPressureHpa - hangar.pressureHpa
  state.lastPressureHpa = hangar.pressureHpa
  const pushedShare = breathing * (warmedK / (engineC(state) + 273.15) + fellHpa / hangar.pressureHpa)
  const breathG = pushedShare > 0 ? -state.mainG * pushedShare : (-pushedShare * hangar.gm3 * mainL) / 1000
  const leak = faultOf(plan, 'leak', state.atS)
  // A new hole lets in what makes the whole of it so many times more, and the wind blows through it as through the old.
  const holesLPerH = plan.leaks.engineLPerH + (leak === null ? 0 : (leak.size - 1) * state.tookInLPerH)
  const own = holesLPerH * (stillShare + (1 - stillShare) * hangar.wind)
  const open = flight === null ? (faultOf(plan, 'cap-off', state.atS)?.size ?? 0) : 2
  const airL = mainL * (1 - Math.exp((-(own + open) * HOURS) / mainL))
  const leakG = ((hangar.gm3 - (1000 * state.mainG) / mainL) * airL) / 1000
  state.mainG += breathG + leakG
  const boxL = flight === null ? plan.leaks.boxLPerH : plan.openHosesPerH * plan.boxL
  const boxG = ((hangar.gm3 * plan.boxL) / 1000 - state.boxG) * (1 - Math.exp((-boxL * HOURS) / plan.boxL))
  state.boxG += boxG
  state.fromOutsideG += breathG + leakG + boxG
  if (flight === null) countIntake(plan, state, Math.max(0, -pushedShare) * mainL + airL + boxL * HOURS)
}

/** Gives `g` to the crankcase's air, but takes no more than a third of what is there. Returns what was given. */
function give(state: State, g: number): number {
  const given = Math.max(-state.mainG / 3, g)
  state.mainG += given
  return given
}

function stepStores(plan: RigPlan, state: State): void {
  const kind = kindOf(plan.seed)
  const { mainL, pocketL } = volumesL(plan)
  if (pocketL > 0) {
    const movedL = pocketL * (1 - Math.exp((-kind.pocketLPerH * HOURS) / pocketL))
    const fallGm3 = (1000 * state.pocketG) / pocketL - (1000 * state.mainG) / mainL
    state.pocketG -= give(state, (fallGm3 * movedL) / 1000)
  }
  const tempC = engineC(state)
  const humidity = Math.min(1.2, (1000 * state.mainG) / mainL / saturatedGm3(tempC))
  const storeG = (saturatedGm3(15) * plan.volumeL) / 1000
  const filmToG = kind.filmTimes * storeG * humidity ** 0.6
  state.filmG -= give(state, (state.filmG - filmToG) * share(kind.filmHours))
  const oilHours = kind.oilHours * Math.exp(-0.04 * (tempC - 15))
  const oilToG = kind.oilTimes * storeG * humidity * Math.exp(0.02 * (Math.min(60, tempC) - 15))
  state.oilG -= give(state, (state.oilG - oilToG) * share(Math.max(0.5, oilHours)))
  // A pool shrinks as it dries; dew falls on all of the metal.
  const overGm3 = densityGm3(surfacePa(tempC), tempC) - (1000 * state.mainG) / mainL
  const area = overGm3 < 0 ? 2 : Math.min(1, (state.poolG / 4) ** (2 / 3))
  const clearedL = mainL * (1 - Math.exp((-60 * kind.poolLPerMin * area * HOURS) / mainL))
  state.poolG -= give(state, Math.min(state.poolG, (overGm3 * clearedL) / 1000))
}

/** A stirred volume passed by air: what leaves on average, g/m3. */
function passPot(g: number, potL: number, inGm3: number, volumeL: number): { g: number; outGm3: number } {
  const toG = (inGm3 * potL) / 1000
  const after = toG + (g - toG) * Math.exp(-volumeL / potL)
  return { g: after, outGm3: inGm3 + ((g - after) * 1000) / volumeL }
}

function circulate(plan: RigPlan, state: State, litresPerH: number): void {
  const { atS, hangar } = state
  const { mainL } = volumesL(plan)
  const volumeL = litresPerH * HOURS
  const fromEngineGm3 = (1000 * state.mainG) / mainL
  const strayShare =
    faultOf(plan, 'return-off', atS) === null
      ? (faultOf(plan, 'suction-leak', atS)?.size ?? plan.leaks.suctionShare)
      : 1
  const drawnGm3 = (1 - strayShare) * fromEngineGm3 + strayShare * hangar.gm3
  // Air from a hot wet engine drips in the cool hose, and the drops run back.
  const hoseInGm3 = Math.min(drawnGm3, saturatedGm3(hangar.tempC))
  state.poolG += ((drawnGm3 - hoseInGm3) * volumeL) / 1000
  const hose = passPot(state.hoseG, kindOf(plan.seed).hoseL, hoseInGm3, volumeL)
  const box = passPot(state.boxG, plan.boxL, hose.outGm3, volumeL)
  state.hoseG = hose.g
  state.boxG = box.g
  const exitGm3 = passBed(bedOf(plan), state.loadings, {
    inGm3: box.outGm3,
    litresPerH,
    hours: HOURS,
    tempC: state.bedC,
  })
  state.takenUpG += ((box.outGm3 - exitGm3) * volumeL) / 1000
  const fedGm3 = faultOf(plan, 'supply-off', atS) === null ? exitGm3 : hangar.gm3
  state.mainG += ((fedGm3 - fromEngineGm3) * volumeL) / 1000
  // Into the loop: the stray air and what is fed; out of it: as much crankcase air, and the exit air if it goes elsewhere.
  state.fromOutsideG += (strayShare * (hangar.gm3 - fromEngineGm3) + fedGm3 - exitGm3) * (volumeL / 1000)
}

/** At rest vapour creeps: between crankcase and box, from the box into the beads, along the column. */
function creep(plan: RigPlan, state: State): void {
  const { mainL } = volumesL(plan)
  const litres = plan.leaks.restLPerH * HOURS
  const boxGm3 = (1000 * state.boxG) / plan.boxL
  const toBoxG = (((1000 * state.mainG) / mainL - boxGm3) * litres) / 1000
  state.mainG -= toBoxG
  state.boxG += toBoxG
  const bed = bedOf(plan)
  const cellG = bed.massG / state.loadings.length
  const inlet = state.loadings[0] ?? 0
  const inG = ((boxGm3 - balanceGm3(bed, inlet, state.bedC)) * 0.2 * litres) / 1000
  const last = state.loadings.length - 1
  const outlet = state.loadings[last] ?? 0
  const backG = ((mainGm3(plan, state) - balanceGm3(bed, outlet, state.bedC)) * 0.2 * litres) / 1000
  state.loadings[0] = inlet + inG / cellG
  state.loadings[last] = (state.loadings[last] ?? 0) + backG / cellG
  state.boxG -= inG
  state.mainG -= backG
  state.takenUpG += inG + backG
  if (state.atS % 1800 === 0) creepBed(bed, state.loadings, state.bedC, 0.5)
}

/** Moves all water by `STEP_S`. Changes `state`. */
export function stepLoop(plan: RigPlan, state: State, flight: Flight | null): void {
  stepIngress(plan, state, stepHeat(plan, state), flight)
  stepStores(plan, state)
  if (flight !== null) return
  const siphonLPerH = plan.leaks.siphonLPerHK * Math.max(0, engineC(state) - state.hangar.tempC)
  const litresPerH = isMoving(plan, state) ? pumpLPerH(plan, state) : siphonLPerH
  if (litresPerH > 0.05) circulate(plan, state, litresPerH)
  else creep(plan, state)
}
