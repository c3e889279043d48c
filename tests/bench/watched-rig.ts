import { advance } from '../../src/core/fold/advance.ts'
import type { LogEntry, Reading } from '../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../src/core/fold/memory.ts'
import type { AlertEvent, Cycle, Forecast } from '../../src/core/fold/outputs.ts'
import { lookAt } from '../../src/core/fold/view.ts'
import type { RigPlan } from '../../src/core/rig/plan.ts'
import type { RigOutput, RigTruth } from '../../src/core/rig/simulate.ts'
import { type Model, type Simulated, startSimulated } from './simulated.ts'

/** A simulated rig and the analysis that watches it, hour by hour. */
export type Watched = {
  rig: Simulated
  memory: Memory
  readonly startS: number
  /** What is dated after the analysis' present: hubs' clocks and owners' watches are ahead. */
  readonly waiting: { readings: Reading[]; log: LogEntry[] }
}

export type Hour = {
  readonly truth: RigTruth
  readonly events: readonly AlertEvent[]
  readonly cycles: readonly Cycle[]
  readonly output: RigOutput
  readonly forecast: Forecast | null
}

/** The second simulator's clocks are up to some minutes off either way: the analysis follows this far behind. */
const SETTLING_S: Readonly<Record<Model, number>> = { own: 0, other: 900 }

export function watch(model: Model, plan: RigPlan): Watched {
  const startS = plan.startS - SETTLING_S[model]
  return {
    rig: startSimulated(model, plan),
    memory: newMemory(startS + 60),
    startS,
    waiting: { readings: [], log: [] },
  }
}

/** The same rig at the same time, to be given another fate. */
export function fork(watched: Watched, plan: RigPlan): Watched {
  const { readings, log } = watched.waiting
  return { ...watched, rig: watched.rig.fork(plan), waiting: { readings: [...readings], log: [...log] } }
}

/** Takes out what is due by a time, in its order; equal times keep theirs. */
function takeDue<T extends { readonly atS: number }>(waiting: T[], untilS: number): { due: T[]; rest: T[] } {
  const sorted = waiting.toSorted((a, b) => a.atS - b.atS)
  const end = sorted.findIndex((one) => one.atS > untilS)
  return end < 0 ? { due: sorted, rest: [] } : { due: sorted.slice(0, end), rest: sorted.slice(end) }
}

/** Runs rig and analysis on by `seconds` (a multiple of 300). */
export function watchOn(watched: Watched, seconds: number): Hour {
  const { rig, waiting } = watched
  const output: RigOutput = { readings: [], log: [] }
  const behindS = rig.plan.startS - watched.startS
  const isFirst = rig.atS() === rig.plan.startS
  const simulatedS = rig.atS() + seconds
  rig.advance(simulatedS, output)
  const untilS = simulatedS - behindS
  const gridS = untilS - (untilS % 300)
  const readings = takeDue([...waiting.readings, ...output.readings], gridS)
  const log = takeDue([...waiting.log, ...output.log], gridS)
  watched.waiting.readings = readings.rest
  watched.waiting.log = log.rest
  const settings = isFirst ? [{ fromS: watched.startS, settings: rig.settings() }] : []
  const step = advance(watched.memory, { readings: readings.due, log: log.due, settings }, gridS)
  watched.memory = step.memory
  const { forecast } = lookAt(step.memory, step.memory.gridS)
  return { truth: rig.truth(), events: step.events, cycles: step.cycles, output, forecast }
}
