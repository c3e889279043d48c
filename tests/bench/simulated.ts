import type { RigSettings } from '../../src/core/fold/inputs.ts'
import { type RigPlan, settingsOfPlan } from '../../src/core/rig/plan.ts'
import { type RigOutput, type RigTruth, advanceRig, truthOf } from '../../src/core/rig/simulate.ts'
import { startRig } from '../../src/core/rig/state.ts'
import { makePlan } from './other/plan.ts'
import { advance, settings, truth } from './other/rig.ts'
import { start } from './other/state.ts'
import { variedPlan } from './rig-varieties.ts'

/** Which simulator: the product's own forward model, or the bench's second one that shares no formula with it. */
export type Model = 'own' | 'other'
export const MODELS: readonly Model[] = ['own', 'other']

/** A simulated rig, whichever simulator is behind it. */
export type Simulated = {
  readonly plan: RigPlan
  readonly atS: () => number
  readonly advance: (untilS: number, out: RigOutput) => void
  readonly truth: () => RigTruth
  readonly settings: () => RigSettings
  /** The same state with another fate; the two share nothing. */
  readonly fork: (plan: RigPlan) => Simulated
}

type Physics<State> = {
  readonly start: (plan: RigPlan) => State
  readonly advance: (plan: RigPlan, state: State, untilS: number, out: RigOutput) => void
  readonly truth: (plan: RigPlan, state: State) => RigTruth
  readonly settings: (plan: RigPlan) => RigSettings
}

function simulate<State extends { atS: number }>(
  physics: Physics<State>,
  plan: RigPlan,
  state: State,
): Simulated {
  return {
    plan,
    atS: () => state.atS,
    advance: (untilS, out) => physics.advance(plan, state, untilS, out),
    truth: () => physics.truth(plan, state),
    settings: () => physics.settings(plan),
    fork: (fate) => simulate(physics, fate, structuredClone(state)),
  }
}

const OWN = { start: startRig, advance: advanceRig, truth: truthOf, settings: settingsOfPlan }
const OTHER = { start, advance, truth, settings }

export function planOf(model: Model, seed: number, startS: number, days: number): RigPlan {
  return model === 'own' ? variedPlan(seed, startS, days) : makePlan(seed, startS, days)
}

export function startSimulated(model: Model, plan: RigPlan): Simulated {
  return model === 'own' ? simulate(OWN, plan, startRig(plan)) : simulate(OTHER, plan, start(plan))
}
