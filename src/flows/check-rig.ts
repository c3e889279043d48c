/** One rig's step: where to start from, the analysis itself, and what there is to write. No database in here but a checkpoint. */
import { advance } from '../core/fold/advance.ts'
import type { Memory } from '../core/fold/memory.ts'
import { MEMORY_VERSION, newMemory, packMemory, unpackMemory } from '../core/fold/memory.ts'
import type { AlertEvent, Cycle, ExposureDay, Fill, OpenAlert, Rollup } from '../core/fold/outputs.ts'
import { IDLE_WRITE_EVERY_S } from '../core/limits.ts'
import { toldFromS } from '../core/schedule/kept-history.ts'
import { gridAt, stopsOf } from '../core/schedule/plan-step.ts'
import type { KnownAlert, Projection } from '../core/schedule/project-alerts.ts'
import { projectForward, projectPast, settleRewind } from '../core/schedule/project-alerts.ts'
import type { Beginning, CheckpointWrite, RigInputs, RigMemory, RigStep } from './check-ports.ts'

/** Where a step begins. */
export type Start = {
  readonly memory: RigMemory
  readonly body: Memory
  readonly gridS: number
  /** As far as this step may go: a rewind first catches up with what was told. */
  readonly toS: number
  /** Begins with the rig's first reading. */
  readonly isNew: boolean
  /** Begins behind what the stored memory had seen. */
  readonly isRewind: boolean
  /** Places heard so far, at least 1. */
  readonly places: number
}

/** Where a rig's analysis can go on: in its memory, or from what has to be looked up first. */
export type Plan =
  | { readonly kind: 'on'; readonly body: Memory }
  /** A late input: back to the newest checkpoint before it. `body` is for a rig that has nothing left to go back to. */
  | { readonly kind: 'back'; readonly beforeS: number; readonly body: Memory }
  /** Never checked, or by another version of the analysis: from the first reading. */
  | { readonly kind: 'first' }

export function planOf(memory: RigMemory): Plan {
  if (memory.body === null) return { kind: 'first' }
  const stored = unpackMemory(memory.body)
  if (!stored.ok) return { kind: 'first' }
  const { rewindFromS } = memory
  if (rewindFromS !== null && rewindFromS <= memory.gridS) {
    return { kind: 'back', beforeS: rewindFromS, body: stored.memory }
  }
  return { kind: 'on', body: stored.memory }
}

/** `null`: nothing to do, because the rig has never been heard or is up to date. */
export function startOf(found: {
  readonly memory: RigMemory
  readonly plan: Plan
  readonly checkpoint: string | null
  readonly beginning: Beginning | null
  readonly targetS: number
}): Start | null {
  const { memory, plan, targetS } = found
  const back = found.checkpoint === null ? null : unpackMemory(found.checkpoint)
  const isStuck = plan.kind === 'back' && back?.ok !== true && found.beginning === null
  const isOn = plan.kind === 'on' || isStuck
  const old = isOn ? plan.body : back?.ok === true ? back.memory : null
  const body = old ?? (found.beginning === null ? null : memoryFrom(found.beginning))
  if (body === null) return null
  const toS = body.gridS < memory.reachedS ? Math.min(memory.reachedS, targetS) : targetS
  if (body.gridS >= toS) return null
  const places = Object.values(body.places).filter((place) => place.heardAtS !== null).length
  return {
    memory,
    body,
    gridS: body.gridS,
    toS,
    isNew: old === null,
    isRewind: !isOn && memory.body !== null,
    places: Math.max(1, places),
  }
}

function memoryFrom({ firstS, fillFromS }: Beginning): Memory {
  const memory = newMemory(firstS)
  if (fillFromS !== null) memory.beads.unknownFromS = fillFromS
  return memory
}

type Outcome = {
  readonly memory: Memory
  readonly cycles: Cycle[]
  readonly fills: Fill[]
  readonly exposureDays: ExposureDay[]
  readonly rollups: Rollup[]
  readonly events: AlertEvent[]
  readonly checkpoints: CheckpointWrite[]
}

export function stepOf(ask: {
  readonly start: Start
  readonly inputs: RigInputs
  readonly targetS: number
  /** Open rows, where the step is over time that was told before. */
  readonly known: readonly KnownAlert[]
}): { readonly step: RigStep | null; readonly isBehind: boolean } {
  const { start, inputs, targetS, known } = ask
  const untilS = inputs.completeToS >= start.toS ? start.toS : gridAt(inputs.completeToS)
  if (untilS <= start.gridS)
    throw new Error(`no progress beyond ${start.gridS} within the readings of one step`)
  const done = advanceThrough(start, inputs, { untilS, targetS })
  const isBehind = untilS < targetS
  if (isIdle(start, inputs, done, untilS)) return { step: null, isBehind: false }
  const reachedS = Math.max(start.memory.reachedS, untilS)
  const keptS = toldFromS(start.memory.readingsFromS)
  const projection = projectionOf(start, done, { untilS, known, keptS })
  const { memory: _, events: __, ...rows } = done
  const isRetold = untilS <= start.memory.reachedS
  const step: RigStep = {
    rigKey: start.memory.rigKey,
    seq: start.memory.seq,
    rewindFromS: start.memory.rewindFromS,
    readingsFromS: start.memory.readingsFromS,
    version: MEMORY_VERSION,
    fromS: start.isNew ? 0 : start.gridS,
    gridS: untilS,
    reachedS,
    body: packMemory(done.memory),
    isRewind: start.isRewind,
    isRetold,
    toldFromS: keptS,
    ...rows,
    cycles: isRetold ? rows.cycles.filter(({ atS }) => atS >= keptS) : rows.cycles,
    ...projection,
  }
  return { step, isBehind }
}

/** Stops on the way where a checkpoint is wanted: in pieces or in one, the analysis gives the same. */
function advanceThrough(
  start: Start,
  inputs: RigInputs,
  span: { readonly untilS: number; readonly targetS: number },
): Outcome {
  const fillTimesS = inputs.log
    .filter(({ what }) => what === 'bake' || what === 'beads')
    .map(({ atS }) => atS)
  const done: Omit<Outcome, 'memory'> = {
    cycles: [],
    fills: [],
    exposureDays: [],
    rollups: [],
    events: [],
    checkpoints: [],
  }
  let memory = start.body
  let left = inputs
  for (const stop of stopsOf({ fromS: start.gridS, ...span, fillTimesS })) {
    const step = advance(memory, left, stop.gridS)
    memory = step.memory
    left = after(left, stop.gridS)
    done.cycles.push(...step.cycles)
    done.fills.push(...step.fills)
    done.exposureDays.push(...step.exposureDays)
    done.rollups.push(...step.rollups)
    done.events.push(...step.events)
    if (stop.kind !== null)
      done.checkpoints.push({ gridS: stop.gridS, kind: stop.kind, body: packMemory(memory) })
  }
  return { memory, ...done }
}

function after(inputs: RigInputs, gridS: number): RigInputs {
  return {
    completeToS: inputs.completeToS,
    readings: inputs.readings.filter(({ atS }) => atS > gridS),
    log: inputs.log.filter(({ atS }) => atS > gridS),
    settings: inputs.settings.filter(({ fromS }) => fromS > gridS),
  }
}

/** Nothing but the clock moved: the memory is written every third tick only, and the next one steps over it again. */
function isIdle(start: Start, inputs: RigInputs, done: Outcome, untilS: number): boolean {
  const isQuiet =
    inputs.readings.length + inputs.log.length + inputs.settings.length === 0 &&
    done.cycles.length + done.fills.length + done.exposureDays.length + done.rollups.length === 0 &&
    done.events.length + done.checkpoints.length === 0
  const isMarked = start.isRewind || start.isNew || start.memory.rewindFromS !== null
  return isQuiet && !isMarked && untilS - start.gridS < IDLE_WRITE_EVERY_S
}

function projectionOf(
  start: Start,
  done: Outcome,
  at: { readonly untilS: number; readonly known: readonly KnownAlert[]; readonly keptS: number },
): Projection {
  const { reachedS } = start.memory
  if (at.untilS > reachedS) {
    return projectForward(done.events, { before: openIn(start.body), after: openIn(done.memory) })
  }
  // An analysis that begins in the middle of a history says nothing of what was before it knew the rig.
  const isTold = (event: AlertEvent): boolean =>
    event.raisedAtS >= at.keptS || at.known.some((alert) => isSame(alert, event))
  const past = projectPast(done.events.filter(isTold), at.known, reachedS)
  if (at.untilS < reachedS) return past
  const stillOpen = at.known.filter((alert) => !past.alerts.some((write) => isSame(write, alert)))
  const settled = settleRewind(openIn(done.memory), stillOpen, at.untilS)
  return { alerts: [...past.alerts, ...settled.alerts], events: [...past.events, ...settled.events] }
}

function isSame(
  a: Pick<KnownAlert, 'rule' | 'raisedAtS'>,
  b: Pick<KnownAlert, 'rule' | 'raisedAtS'>,
): boolean {
  return a.rule === b.rule && a.raisedAtS === b.raisedAtS
}

function openIn(memory: Memory): readonly OpenAlert[] {
  return memory.rules.open
}
