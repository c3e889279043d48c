/** Sensor, outlet and hub of the second simulator. */
import type { Reading } from '../../../src/core/fold/inputs.ts'
import type { RigPlan } from '../../../src/core/rig/plan.ts'
import { nextBetween, nextNormal, nextUniform } from '../../../src/core/rig/random.ts'
import { balanceGm3 } from './bed.ts'
import { kindOf } from './kind.ts'
import { STEP_S, engineC, faultOf, mainGm3 } from './loop.ts'
import { type State, bedOf } from './state.ts'
import { humidityPct } from './vapour.ts'

const HOURS = STEP_S / 3600
const round2 = (value: number) => Math.round(value * 100) / 100
const within = (value: number) => Math.min(100, Math.max(0, value))

export function returnC(plan: RigPlan, state: State): number {
  const isInEngine = plan.sensor.sits === 'engine' && state.isHookedUp
  return isInEngine ? state.metalC + 0.2 * (state.hotK[0] + state.hotK[1]) : state.boxC
}

function airPct(plan: RigPlan, state: State): number {
  const isInEngine = plan.sensor.sits === 'engine' && state.isHookedUp
  const gm3 = isInEngine ? mainGm3(plan, state) : (1000 * state.boxG) / plan.boxL
  return Math.min(105, humidityPct(gm3, returnC(plan, state)))
}

/** Student's t with 4 degrees of freedom, scaled to SD 1: heavy tails. */
function nextHeavy(state: State): number {
  const normal = nextNormal(state.random)
  const chi = -2 * Math.log((1 - nextUniform(state.random)) * (1 - nextUniform(state.random)))
  return normal / Math.sqrt(chi / 4) / Math.SQRT2
}

/** Filter cap, then element; wander of the noise; what a soaking leaves behind. Changes `state`. */
export function stepSensor(plan: RigPlan, state: State): void {
  const { driftMin, soakPct } = kindOf(plan.seed).sensor
  const lagS = Math.max(2, plan.sensor.lagS)
  state.filterPct += (airPct(plan, state) - state.filterPct) * (1 - Math.exp(-STEP_S / (0.7 * lagS)))
  state.elementPct += (state.filterPct - state.elementPct) * (1 - Math.exp(-STEP_S / (0.3 * lagS)))
  const keep = Math.exp((-60 * HOURS) / driftMin)
  state.wanderPct = keep * state.wanderPct + Math.sqrt(1 - keep * keep) * nextNormal(state.random)
  state.soakPct *= Math.exp(-HOURS / 48)
  if (state.elementPct > 90) state.soakPct += (soakPct - state.soakPct) * (1 - Math.exp(-HOURS / 4))
}

/** What the sensor says at this instant, % RH. */
export function readSensor(plan: RigPlan, state: State): number {
  const { driftShare, glitchDays, perKPct, isFloored } = kindOf(plan.seed).sensor
  const { gain, offsetPct, noisePct, stepPct } = plan.sensor
  const noise = noisePct * (driftShare * state.wanderPct + Math.sqrt(1 - driftShare ** 2) * nextHeavy(state))
  const shift = (faultOf(plan, 'shift', state.atS)?.size ?? 0) + perKPct * (returnC(plan, state) - 20)
  let pct = gain * state.elementPct + offsetPct + shift + state.soakPct + noise
  if (nextUniform(state.random) < HOURS / 24 / glitchDays) pct += nextBetween(state.random, -40, 40)
  if (stepPct > 0) pct = stepPct * (isFloored ? Math.floor(pct / stepPct) : Math.round(pct / stepPct))
  const live = within(pct)
  if (faultOf(plan, 'frozen', state.atS) === null) state.heldPct = null
  else state.heldPct ??= live
  return state.heldPct ?? live
}

/** The hub's band with its least time between two switchings, and the outlet. Changes `state`. */
export function switchOutlet(plan: RigPlan, state: State, shownPct: number, isAway: boolean): void {
  const { startPct, stopPct } = plan.outlet
  if (state.atS - state.switchedAtS >= 60 * kindOf(plan.seed).outletMin) {
    if (shownPct >= startPct) state.wantsOn = true
    else if (shownPct <= stopPct) state.wantsOn = false
  }
  const isStuckOff = isAway || faultOf(plan, 'stuck-off', state.atS) !== null
  const isOn = !isStuckOff && (state.wantsOn || faultOf(plan, 'stuck-on', state.atS) !== null)
  if (state.isOn) state.pumpMin += STEP_S / 60
  if (isOn === state.isOn) return
  state.wasOn = state.isOn
  state.isOn = isOn
  state.switchedAtS = state.atS
  if (isOn) state.runs++
}

function powerW(plan: RigPlan, state: State): number {
  const standbyW = kindOf(plan.seed).hub.standbyW
  if (!state.isOn) return standbyW
  const isOpen = faultOf(plan, 'pump-dead', state.atS)?.size === 1
  return standbyW + plan.pump.powerW * (isOpen ? 0.03 : 1 + 0.05 * nextNormal(state.random))
}

/** A second sensor's post. */
function other(plan: RigPlan, state: State, place: Reading['place'], pct: number, tempC: number): Reading {
  const { noisePct, stepPct, tempStepC } = plan.sensor
  const noisy = pct + noisePct * nextHeavy(state)
  const stepped = stepPct > 0 ? stepPct * Math.round(noisy / stepPct) : noisy
  return {
    atS: state.atS,
    place,
    humidityPct: round2(within(stepped)),
    tempC: plan.hub.hasTemp ? round2(tempStepC * Math.round(tempC / tempStepC)) : null,
    pumpOn: null,
    powerW: null,
  }
}

function isDue(plan: RigPlan, state: State, now: { humidityPct: number; isOn: boolean }): boolean {
  const { mode, quietMaxS, everyS } = plan.hub
  if (mode !== 'on-change') return state.atS >= state.dueAtS
  const { shown } = state
  if (shown === null || shown.isOn !== now.isOn || state.atS - state.postedAtS >= quietMaxS) return true
  const threshold = Math.max(plan.sensor.stepPct, 2.5 * plan.sensor.noisePct, 0.2)
  return state.atS - state.postedAtS >= everyS && Math.abs(now.humidityPct - shown.humidityPct) >= threshold
}

/** What the hub posts now, by its own clock. Changes `state`. */
export function post(plan: RigPlan, state: State, shownPct: number, out: Reading[]): void {
  const { hub, sensor } = plan
  const kind = kindOf(plan.seed).hub
  const isOn = state.atS - state.switchedAtS < plan.outlet.stateLagS ? state.wasOn : state.isOn
  if (!isDue(plan, state, { humidityPct: shownPct, isOn })) return
  if (hub.mode !== 'cached' || state.held === null || state.atS - state.renewedAtS >= hub.renewS) {
    const tempC = returnC(plan, state) + 0.05 * nextNormal(state.random)
    state.held = {
      humidityPct: round2(shownPct),
      tempC: round2(sensor.tempStepC * Math.round(tempC / sensor.tempStepC)),
    }
    state.renewedAtS = state.atS
  }
  state.postedAtS = state.atS
  state.shown = { humidityPct: shownPct, isOn }
  state.dueAtS = state.atS + hub.everyS * Math.max(0.5, 1 + kind.jitterShare * nextNormal(state.random))
  state.posts++
  if (hub.lostShare > 0 && nextUniform(state.random) < hub.lostShare) return
  const atS = state.atS + kind.skewS
  out.push({
    atS,
    place: 'return',
    humidityPct: state.held.humidityPct,
    tempC: hub.hasTemp ? state.held.tempC : null,
    pumpOn: hub.hasPump ? isOn : null,
    powerW: hub.hasPower ? Math.round(powerW(plan, state) * 10) / 10 : null,
  })
  const add = (place: Reading['place'], pct: number, tempC: number) =>
    out.push({ ...other(plan, state, place, pct, tempC), atS })
  if (hub.hasAmbient && state.posts % kind.ambientEvery === 0)
    add('ambient', state.hangar.pct, state.hangar.tempC)
  if (hub.hasSupply) {
    const exitGm3 = balanceGm3(bedOf(plan), state.loadings.at(-1) ?? 0, state.bedC)
    add('supply', humidityPct(exitGm3, state.bedC), state.bedC)
  }
  if (hub.hasEngine) add('engine', humidityPct(mainGm3(plan, state), engineC(state)), engineC(state))
}
