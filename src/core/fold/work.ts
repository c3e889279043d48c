import type { Bed } from '../beads/bed.ts'
import type { EndedRun, Sample } from '../rules/rule.ts'
import type { RigSettings } from './inputs.ts'
import type { Memory } from './memory.ts'
import type { MutableMoment } from './moment.ts'
import type { AlertEvent, Cycle, ExposureDay, Fill, Rollup } from './outputs.ts'

/** One call of `advance` at work: the memory being changed, and what has come out so far. */
export type Work = {
  readonly memory: Memory
  settings: RigSettings
  /** The grid time being worked on, s. */
  gridS: number
  /** Samples, cycles and ended runs of this grid step. */
  fresh: Sample[]
  closed: Cycle[]
  ended: EndedRun[]
  /** A floor check that ended in this grid step, % RH. */
  floorCheckPct: { mid: number; se: number } | null
  /** The columns of the ensemble, made when first needed. */
  beds: readonly Bed[] | null
  readonly moment: MutableMoment
  /** A run began or ended, or the settings changed: what is learned from runs is looked up again. */
  isRigNew: boolean
  /** Vapour density in the engine at this grid time, g/m3. */
  engineGm3: number | null
  /** Water moved since the return reading before, g; `null` without a flow. */
  movedG: number | null
  readonly cycles: Cycle[]
  readonly events: AlertEvent[]
  readonly rollups: Rollup[]
  readonly exposureDays: ExposureDay[]
  readonly fills: Fill[]
}

/** What is known at a grid time. */
export type Known = Pick<Work, 'memory' | 'settings' | 'gridS'>

/** What `advance` gives back. */
export type Step = {
  readonly memory: Memory
  readonly cycles: readonly Cycle[]
  readonly events: readonly AlertEvent[]
  readonly rollups: readonly Rollup[]
  readonly exposureDays: readonly ExposureDay[]
  /** Every fill that began, changed by an update of its forecast, or ended; the newest state of each. */
  readonly fills: readonly Fill[]
}
