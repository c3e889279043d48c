import { humidityPctOfDensity } from '../air/vapour.ts'
import { densityPerPa25, pressure25Pa } from '../beads/isotherm.ts'
import type { Reading } from '../fold/inputs.ts'
import { inSteps, reportedOn, sensorTempC } from './outlet.ts'
import type { RigPlan } from './plan.ts'
import { nextNormal, nextUniform } from './random.ts'
import { type RigState, isothermOfPlan } from './state.ts'
import type { Weather } from './weather.ts'

/** Vapour density that the column's exit has now, g/m3. */
export function exitDensityGm3(plan: RigPlan, state: RigState): number {
  const isotherm = isothermOfPlan(plan)
  const last = state.cells[plan.beads.cells - 1] ?? 0
  return densityPerPa25(isotherm.kind, state.bedC) * pressure25Pa(isotherm, last / plan.beads.scale)
}

const round2 = (value: number) => Math.round(value * 100) / 100

/** A second sensor at another place: its own noise, the steps of the first. */
function besides(
  plan: RigPlan,
  state: RigState,
  at: { readonly place: Reading['place']; readonly humidityPct: number; readonly tempC: number },
): Reading {
  const noisy = at.humidityPct + plan.sensor.noisePct * nextNormal(state.random)
  return {
    atS: state.atS,
    place: at.place,
    humidityPct: round2(Math.min(100, Math.max(0, inSteps(noisy, plan.sensor.stepPct)))),
    tempC: plan.hub.hasTemp ? round2(inSteps(at.tempC, plan.sensor.tempStepC)) : null,
    pumpOn: null,
    powerW: null,
  }
}

/** Values as the hub holds them: fresh, or the cached ones of up to `renewS` ago. Changes `state`. */
function valuesNow(plan: RigPlan, state: RigState, shownPct: number) {
  const isOn = reportedOn(plan, state)
  const isStale = state.atS - state.renewedAtS < plan.hub.renewS
  if (plan.hub.mode === 'cached' && isStale && state.posted !== null) return { ...state.posted, isOn }
  state.renewedAtS = state.atS
  const tempC = inSteps(sensorTempC(plan, state) + 0.05 * nextNormal(state.random), plan.sensor.tempStepC)
  return { humidityPct: round2(shownPct), tempC: round2(tempC), isOn }
}

/** Whether this hub has something to say now. */
function isDue(plan: RigPlan, state: RigState, now: NonNullable<RigState['posted']>): boolean {
  const sinceS = state.atS - state.postedAtS
  const { hub, sensor } = plan
  if (hub.mode !== 'on-change') return sinceS >= hub.everyS
  const { posted } = state
  if (posted === null || sinceS >= hub.quietMaxS || posted.isOn !== now.isOn) return true
  const changePct = Math.max(sensor.stepPct, 3 * sensor.noisePct, 0.3)
  const isMoved =
    Math.abs(now.humidityPct - posted.humidityPct) >= changePct || Math.abs(now.tempC - posted.tempC) >= 0.5
  return isMoved && sinceS >= hub.everyS
}

export type PostContext = { readonly weather: Weather; readonly shownPct: number; readonly powerW: number }

/** What the hub posts at this step, if anything. Draws from `state.random` and changes `state`. */
export function postReadings(plan: RigPlan, state: RigState, context: PostContext, out: Reading[]): void {
  const now = valuesNow(plan, state, context.shownPct)
  if (!isDue(plan, state, now)) return
  state.postedAtS = state.atS
  state.posted = now
  if (plan.hub.lostShare > 0 && nextUniform(state.random) < plan.hub.lostShare) return
  out.push({
    atS: state.atS,
    place: 'return',
    humidityPct: now.humidityPct,
    tempC: plan.hub.hasTemp ? now.tempC : null,
    pumpOn: plan.hub.hasPump ? now.isOn : null,
    powerW: plan.hub.hasPower ? Math.round(context.powerW * 10) / 10 : null,
  })
  const { weather } = context
  if (plan.hub.hasAmbient) out.push(besides(plan, state, { place: 'ambient', ...weather }))
  if (plan.hub.hasSupply) {
    const humidityPct = humidityPctOfDensity(exitDensityGm3(plan, state), state.bedC)
    out.push(besides(plan, state, { place: 'supply', humidityPct, tempC: state.bedC }))
  }
  if (plan.hub.hasEngine) {
    const tempC = state.metalC + state.heatK
    const humidityPct = humidityPctOfDensity((1000 * state.engineG) / plan.volumeL, tempC)
    out.push(besides(plan, state, { place: 'engine', humidityPct, tempC }))
  }
}
