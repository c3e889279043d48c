import { humidityPctOfDensity } from '../air/vapour.ts'
import type { RigPlan } from './plan.ts'
import { nextNormal } from './random.ts'
import { STEP_S } from './air-step.ts'
import type { RigState } from './state.ts'

/** A value cut to the steps of its sensor; a step of 0 leaves it as it is. */
export function inSteps(value: number, step: number): number {
  return step > 0 ? Math.round(value / step) * step : value
}

/** Whether the sensor is in the engine's air: only one that sits there, and only while the rig is hooked up. */
function isInEngine(plan: RigPlan, state: RigState): boolean {
  return plan.sensor.sits === 'engine' && state.isHookedUp
}

/** Share of a hot engine's heat that reaches a sensor in its fitting. */
const FITTING_HEAT = 0.25

/** RH of the air at the sensor, %: the box is warmed by the pump, the fitting by the engine. */
function airAtSensorPct(plan: RigPlan, state: RigState): number {
  const densityGm3 = isInEngine(plan, state)
    ? (1000 * state.engineG) / plan.volumeL
    : (1000 * state.boxG) / plan.boxL
  return humidityPctOfDensity(densityGm3, sensorTempC(plan, state))
}

/** Temperature at the return sensor, degC. */
export function sensorTempC(plan: RigPlan, state: RigState): number {
  if (isInEngine(plan, state)) return state.metalC + FITTING_HEAT * state.heatK
  return state.boxBaseC + state.pumpHeatK
}

/** The sensing element follows the air through its lag. Changes `state`. */
export function stepSensor(plan: RigPlan, state: RigState, saltPct: number | null): void {
  const share = 1 - Math.exp(-STEP_S / Math.max(1, plan.sensor.lagS))
  const airPct = saltPct ?? Math.min(110, airAtSensorPct(plan, state))
  state.sensedPct += (airPct - state.sensedPct) * share
}

/** What the sensor says now, % RH: gain, offset, noise, steps, 0..100. Draws from `state.random`. */
export function readSensor(plan: RigPlan, state: RigState, shiftPct: number): number {
  const { gain, offsetPct, noisePct, stepPct } = plan.sensor
  const pct = gain * state.sensedPct + offsetPct + shiftPct + noisePct * nextNormal(state.random)
  return Math.min(100, Math.max(0, inSteps(pct, stepPct)))
}

/** The hub's band: on at `start`, off at `stop`, else as it was. Changes `state`. */
export function commandOutlet(plan: RigPlan, state: RigState, shownPct: number): void {
  const wanted = shownPct >= plan.outlet.startPct || (shownPct > plan.outlet.stopPct && state.isCommanded)
  if (wanted === state.isCommanded) return
  state.isCommanded = wanted
}

/** The outlet itself switches; what it was before stays visible for `stateLagS`. Changes `state`. */
export function switchOutlet(state: RigState, isOn: boolean): void {
  if (isOn === state.isOn) return
  state.wasCommanded = state.isOn
  state.isOn = isOn
  state.commandedAtS = state.atS
  if (isOn) state.runs++
}

/** The pump's state as the hub reports it. */
export function reportedOn(plan: RigPlan, state: RigState): boolean {
  return state.atS - state.commandedAtS < plan.outlet.stateLagS ? state.wasCommanded : state.isOn
}
