/**
 * The second simulator of a rig: shares with the first the list of what can go wrong and what a plan says, and no
 * formula, weather, noise or numerical scheme.
 */
import type { RigSettings } from '../../../src/core/fold/inputs.ts'
import type { Flight, RigPlan } from '../../../src/core/rig/plan.ts'
import { nextNormal } from '../../../src/core/rig/random.ts'
import type { RigOutput, RigTruth } from '../../../src/core/rig/simulate.ts'
import { balanceGm3 } from './bed.ts'
import { AIR_STEP_S, stepHangar } from './hangar-air.ts'
import { kindOf } from './kind.ts'
import { STEP_S, engineC, faultOf, mainGm3, stepLoop } from './loop.ts'
import { post, readSensor, stepSensor, switchOutlet } from './sensor.ts'
import { type State, bakedKgKg, bedOf, bedWaterG } from './state.ts'
import { humidityPct } from './vapour.ts'

export function truth(plan: RigPlan, state: State): RigTruth {
  const exitGm3 = balanceGm3(bedOf(plan), state.loadings.at(-1) ?? 0, state.bedC)
  return {
    atS: state.atS,
    takenUpG: state.takenUpG,
    intakeL: state.tookInL,
    exitPct: humidityPct(exitGm3, state.bedC),
    enginePct: humidityPct(mainGm3(plan, state), engineC(state)),
    engineC: engineC(state),
    liquidG: state.poolG,
    oilG: state.oilG,
    runs: state.runs,
    pumpMin: state.pumpMin,
    isOn: state.isOn,
  }
}

/** People write times to the nearest minute, five or quarter of an hour. */
function write(
  plan: RigPlan,
  out: RigOutput,
  atS: number,
  what: string,
  detail: Record<string, string>,
): void {
  const { roundS } = kindOf(plan.seed).owner
  out.log.push({ atS: Math.round(atS / roundS) * roundS, what, detail })
}

function bake(
  plan: RigPlan,
  state: State,
  tempC: number,
  isLogged: boolean,
  isWeighed: boolean,
  out: RigOutput,
) {
  const beforeG = bedWaterG(plan, state)
  const fresh = bakedKgKg(plan, tempC)
  const { bakeLeaves } = kindOf(plan.seed)
  // Poured out and in again, the beads are mixed: what a short bake leaves is everywhere.
  const mean = beforeG / plan.beads.massG
  const after = Math.min(mean, fresh + bakeLeaves * Math.max(0, mean - fresh))
  state.loadings = state.loadings.map(() => after)
  const afterG = bedWaterG(plan, state)
  state.bakedOutG += beforeG - afterG
  state.takenUpG = 0
  state.jarsBaked++
  if (!isLogged) return
  const scale = (g: number) => String(Math.round(plan.beads.massG + 410 + g + 1.5 * nextNormal(state.random)))
  const weights = isWeighed ? { beforeG: scale(beforeG), afterG: scale(afterG) } : {}
  write(plan, out, state.atS, 'bake', { tempC: String(tempC), hours: '3', jar: plan.beads.jar, ...weights })
}

function happen(plan: RigPlan, state: State, out: RigOutput): void {
  const isNow = (timeS: number) => timeS > state.atS - STEP_S && timeS <= state.atS
  for (const flight of plan.flights) {
    if (flight.isRigLogged && isNow(flight.offS)) write(plan, out, flight.offS, 'off', {})
    if (isNow(flight.landS)) {
      state.hotK = [0.6 * flight.heatK, 0.4 * flight.heatK]
      const driedG = 0.85 * state.oilG
      state.oilG -= driedG
      state.fromOutsideG -= driedG
      state.poolG += flight.waterG
      state.fromFlightsG += flight.waterG
      const hours = ((flight.landS - flight.offS) / 3600).toFixed(1)
      if (flight.isLogged) write(plan, out, flight.landS, 'flight', { hours })
    }
    if (flight.isRigLogged && isNow(flight.onS)) write(plan, out, flight.onS, 'on', {})
  }
  for (const one of plan.bakes)
    if (isNow(one.atS)) bake(plan, state, one.tempC, one.isLogged, one.isWeighed, out)
  const { bakeAtExitPct, bakeC, isBakeLogged, isWeighed } = plan.beads
  if (bakeAtExitPct === null || state.atS % 86_400 !== 17 * 3600) return
  if (truth(plan, state).exitPct >= bakeAtExitPct) bake(plan, state, bakeC, isBakeLogged, isWeighed, out)
}

const flightAt = (plan: RigPlan, atS: number): Flight | null =>
  plan.flights.find((one) => atS >= one.offS && atS < one.onS) ?? null

/** Runs on to `untilS` in steps of 30 s; adds what is posted and written to `out`. Changes `state`. */
export function advance(plan: RigPlan, state: State, untilS: number, out: RigOutput): void {
  const { place } = kindOf(plan.seed)
  while (state.atS + STEP_S <= untilS) {
    state.atS += STEP_S
    if (state.atS % AIR_STEP_S === 0) state.hangar = stepHangar(state.atS, state.random, place, state.air)
    const flight = flightAt(plan, state.atS)
    state.isHookedUp = flight === null
    happen(plan, state, out)
    stepLoop(plan, state, flight)
    stepSensor(plan, state)
    const shownPct = readSensor(plan, state)
    switchOutlet(plan, state, shownPct, flight !== null)
    const isSilent = flight?.hub === 'silent' || faultOf(plan, 'silent', state.atS) !== null
    if (!isSilent) post(plan, state, shownPct, out.readings)
  }
}

/** What such an owner writes into rig.json: off by what a brochure and a ruler are off. */
export function settings(plan: RigPlan): RigSettings {
  const { owner, place } = kindOf(plan.seed)
  const { hub, outlet } = plan
  return {
    band: { startPct: outlet.startPct, stopPct: outlet.stopPct },
    beadMassG: Math.round(plan.beads.massG / 100) * 100,
    beadKind: 'regular-gel',
    volumeL: Math.round((plan.volumeL * owner.volumeTimes) / 5) * 5,
    flowLPerMin: Math.max(0.5, Math.round(plan.flowLPerMin * owner.flowTimes * 2) / 2),
    reportEveryS: hub.mode === 'on-change' ? hub.quietMaxS : hub.everyS,
    elevationM: 0,
    pumpOnW: hub.hasPower ? plan.pump.powerW / 2 : null,
    switchTolPct: 1,
    sensorSits: owner.saysWhereSensorSits ? plan.sensor.sits : null,
    boxL: 2,
    ambient: owner.saysAmbient
      ? { humidityPct: plan.climate.humidityPct, tempC: Math.round(place.meanC) }
      : null,
  }
}
