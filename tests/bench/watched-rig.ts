import { advance } from '../../src/core/fold/advance.ts'
import { type Memory, newMemory } from '../../src/core/fold/memory.ts'
import type { AlertEvent, Cycle, Forecast } from '../../src/core/fold/outputs.ts'
import { lookAt } from '../../src/core/fold/view.ts'
import { type RigPlan, settingsOfPlan } from '../../src/core/rig/plan.ts'
import { type RigOutput, type RigTruth, advanceRig, truthOf } from '../../src/core/rig/simulate.ts'
import { type RigState, startRig } from '../../src/core/rig/state.ts'

/** A simulated rig and the analysis that watches it, hour by hour. */
export type Watched = {
  plan: RigPlan
  readonly state: RigState
  memory: Memory
  readonly startS: number
}

export type Hour = {
  readonly truth: RigTruth
  readonly events: readonly AlertEvent[]
  readonly cycles: readonly Cycle[]
  readonly output: RigOutput
  readonly forecast: Forecast | null
}

export function watch(plan: RigPlan): Watched {
  return { plan, state: startRig(plan), memory: newMemory(plan.startS + 60), startS: plan.startS }
}

/** The same rig at the same time, to be given another fate. */
export function fork(watched: Watched, plan: RigPlan): Watched {
  return { ...watched, plan, state: structuredClone(watched.state) }
}

/** Runs rig and analysis on by `seconds` (a multiple of 300). */
export function watchOn(watched: Watched, seconds: number): Hour {
  const { plan, state } = watched
  const output: RigOutput = { readings: [], log: [] }
  const isFirst = state.atS === watched.startS
  const untilS = state.atS + seconds
  advanceRig(plan, state, untilS, output)
  const settings = isFirst ? [{ fromS: watched.startS, settings: settingsOfPlan(plan) }] : []
  const step = advance(
    watched.memory,
    { readings: output.readings, log: output.log, settings },
    untilS - (untilS % 300),
  )
  watched.memory = step.memory
  const { forecast } = lookAt(step.memory, step.memory.gridS)
  return { truth: truthOf(plan, state), events: step.events, cycles: step.cycles, output, forecast }
}
