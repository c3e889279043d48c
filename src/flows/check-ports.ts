/** What the scheduled check needs from the database of a shard. */
import type { Inputs, Reading } from '../core/fold/inputs.ts'
import type { AlertEvent, Cycle, ExposureDay, Fill, OpenAlert, Rollup } from '../core/fold/outputs.ts'

/** A rig as the check finds it. `body` is the memory as JSON, `null` for one that was never checked. */
export type RigMemory = {
  readonly rigKey: number
  readonly seq: number
  readonly version: number
  readonly gridS: number
  readonly reachedS: number
  readonly rewindFromS: number | null
  readonly body: string | null
}

export type Checkpoint = { readonly gridS: number; readonly version: number; readonly body: string }

export type RigInputs = Inputs & {
  /** True: more readings follow after the last of these, within the span asked for. */
  readonly isCut: boolean
  readonly readings: readonly Reading[]
}

/** What one step of one rig writes. */
export type RigStep = {
  readonly rigKey: number
  /** As loaded: the write happens only if both are still so. */
  readonly seq: number
  readonly rewindFromS: number | null
  readonly version: number
  readonly gridS: number
  readonly reachedS: number
  /** What `rewind_from` becomes: `null` once worked in. */
  readonly nextRewindFromS: number | null
  readonly body: string
  /** True: this step goes over time that was told before. Its span's old cycles and fills give way to the new. */
  readonly isRewound: boolean
  readonly fromS: number
  readonly checkpoint: 'day' | 'week' | 'fill' | null
  readonly cycles: readonly Cycle[]
  readonly fills: readonly Fill[]
  readonly exposureDays: readonly ExposureDay[]
  readonly rollups: readonly Rollup[]
  readonly events: readonly (AlertEvent & { readonly isPast: boolean; readonly alertId: string })[]
  /** After a rewind that has caught up: the alerts that are open now; open rows that are not among them are over. */
  readonly openNow: readonly OpenAlert[] | null
}

export type CheckStore = {
  /** Rigs with an integer key over `afterKey`, not set back at `nowS`, in order. */
  readonly dueRigs: (afterKey: number, limit: number, nowS: number) => Promise<readonly number[]>
  readonly memories: (rigKeys: readonly number[], nowS: number) => Promise<readonly RigMemory[]>
  /** The newest checkpoint of this version before `beforeS`. */
  readonly checkpointBefore: (rigKey: number, version: number, beforeS: number) => Promise<Checkpoint | null>
  /** Inputs with `fromS` < at <= `toS`; at most `readingsMax` readings, cut at a whole instant. */
  readonly inputs: (
    spans: readonly { readonly rigKey: number; readonly fromS: number; readonly toS: number }[],
    readingsMax: number,
  ) => Promise<ReadonlyMap<number, RigInputs>>
  /** The first reading of a rig, s. */
  readonly firstReadingS: (rigKey: number) => Promise<number | null>
  /** One transaction for all; a rig that somebody else wrote meanwhile is left out. Gives those written. */
  readonly writeSteps: (steps: readonly RigStep[], token: string) => Promise<ReadonlySet<number>>
  readonly setBack: (rigKey: number, untilS: number, failure: string) => Promise<void>
  readonly finishTick: (tick: { readonly checkedS: number; readonly behind: number }) => Promise<void>
}
