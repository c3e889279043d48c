/** What the scheduled check needs from the database of a shard. */
import type { Inputs } from '../core/fold/inputs.ts'
import type { Cycle, ExposureDay, Fill, Rollup } from '../core/fold/outputs.ts'
import type { AlertWrite, EventWrite, KnownAlert } from '../core/schedule/project-alerts.ts'

/** A rig as the check finds it. `body` is the memory as text, `null` for one that was never checked. */
export type RigMemory = {
  readonly rigKey: number
  readonly seq: number
  readonly version: number
  readonly gridS: number
  /** Furthest grid time ever: before it, a rewind is catching up. */
  readonly reachedS: number
  readonly rewindFromS: number | null
  /** Readings before this were removed, none after it; 0: none at all. */
  readonly readingsFromS: number
  readonly body: string | null
}

export type Checkpoint = { readonly gridS: number; readonly body: string }

export type Beginning = {
  readonly firstS: number
  /** Since when the fill that is in the column then is told of; `null`: it was not told of before. */
  readonly fillFromS: number | null
}

export type CheckpointAsk = {
  readonly rigKey: number
  readonly version: number
  readonly beforeS: number
  readonly readingsFromS: number
}

export type InputSpan = {
  readonly rigKey: number
  /** Readings after this, s. */
  readonly fromS: number
  readonly toS: number
  /** Logbook entries and settings after this: -1 takes all there are, for a memory that begins. */
  readonly logFromS: number
  /** Readings of one place at most. */
  readonly readingsMax: number
}

export type RigInputs = Inputs & {
  /** The readings are complete up to this time; what follows was not read. */
  readonly completeToS: number
}

export type CheckpointWrite = {
  readonly gridS: number
  readonly kind: 'day' | 'week' | 'fill'
  readonly body: string
}

/** What one step of one rig writes. */
export type RigStep = {
  readonly rigKey: number
  /** As loaded: nothing is written unless all three still hold. */
  readonly seq: number
  readonly rewindFromS: number | null
  readonly readingsFromS: number
  readonly version: number
  /** The step covers (fromS, gridS]. */
  readonly fromS: number
  readonly gridS: number
  readonly reachedS: number
  readonly body: string
  /** This step began behind what the stored memory had seen: later checkpoints are void. */
  readonly isRewind: boolean
  /** The span was told before: its old cycles and fills give way to the new. */
  readonly isRetold: boolean
  /** What was told of the time before this stays as it is. */
  readonly toldFromS: number
  readonly checkpoints: readonly CheckpointWrite[]
  readonly cycles: readonly Cycle[]
  readonly fills: readonly Fill[]
  readonly exposureDays: readonly ExposureDay[]
  readonly rollups: readonly Rollup[]
  readonly alerts: readonly AlertWrite[]
  readonly events: readonly EventWrite[]
}

export type CheckStore = {
  /** Rigs with an integer key over `afterKey`, not set back at `nowS`, in order. */
  readonly dueRigs: (afterKey: number, limit: number, nowS: number) => Promise<readonly number[]>
  readonly memories: (rigKeys: readonly number[], nowS: number) => Promise<readonly RigMemory[]>
  /** The newest checkpoint of this version before `beforeS`, from which on no reading has been removed. */
  readonly checkpointBefore: (ask: CheckpointAsk) => Promise<Checkpoint | null>
  /** Where an analysis can begin: the first reading from where on none was removed. Rigs without any are left out. */
  readonly beginnings: (
    rigs: readonly Pick<RigMemory, 'rigKey' | 'readingsFromS'>[],
  ) => Promise<ReadonlyMap<number, Beginning>>
  /** Taken apart only when called for, so that what cannot be read stops its own rig alone. */
  readonly inputs: (spans: readonly InputSpan[]) => Promise<ReadonlyMap<number, () => RigInputs>>
  /** Alerts of a rig that are open in the table. */
  readonly openAlerts: (rigKey: number) => Promise<readonly KnownAlert[]>
  /** One transaction; a rig that somebody else wrote meanwhile is left out. */
  readonly writeSteps: (steps: readonly RigStep[], token: string) => Promise<void>
  readonly setBack: (rigKey: number, untilS: number, failure: string) => Promise<void>
  readonly finishTick: (tick: { readonly checkedS: number; readonly behind: number }) => Promise<void>
}
