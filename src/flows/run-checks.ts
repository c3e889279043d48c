/**
 * The scheduled check: every rig's analysis goes on over what is new, up to the tick's time less the settling time, and
 * what came out is written in one transaction. Run twice at once, twice in turn or cut off anywhere, it leaves the same.
 */
import type { Budgets } from '../core/limits.ts'
import { GRID_S, SET_BACK_S, SETTLING_S, SHORT_SPAN_S, WRITE_MAX_BYTES } from '../core/limits.ts'
import { gridAt } from '../core/schedule/plan-step.ts'
import { MEMORY_VERSION } from '../core/fold/memory.ts'
import type { Beginning, CheckStore, InputSpan, RigInputs, RigMemory, RigStep } from './check-ports.ts'
import type { Plan, Start } from './check-rig.ts'
import { planOf, startOf, stepOf } from './check-rig.ts'

export type CheckPorts = {
  readonly budgets: Budgets
  readonly randomBytes: (bytes: number) => Uint8Array
  readonly shards: readonly { readonly shard: number; readonly checks: CheckStore }[]
  /** Throws if the queue does not take them. */
  readonly spread: (batches: readonly RigBatch[]) => Promise<void>
  readonly log: (line: Readonly<Record<string, string | number | boolean | null>>) => void
}

/** Rigs of one shard, by their keys there, for one invocation. */
export type RigBatch = {
  readonly kind: 'check'
  readonly shard: number
  readonly rigKeys: readonly number[]
  readonly scheduledS: number
}

/**
 * One tick over all databases; one that fails does not keep the others from their turn. Gives the number of rigs that
 * have more to catch up. Throws the first failure at the end.
 */
export async function runTick(ports: CheckPorts, scheduledS: number): Promise<number> {
  let behind = 0
  const failures: unknown[] = []
  for (const shard of ports.shards) {
    try {
      behind += await tickShard(ports, shard, scheduledS)
    } catch (error) {
      failures.push(error)
      ports.log({ event: 'shard-failed', shard: shard.shard, message: String(error).slice(0, 200) })
    }
  }
  if (failures.length > 0) throw failures[0]
  return behind
}

async function tickShard(
  ports: CheckPorts,
  { shard, checks }: CheckPorts['shards'][number],
  scheduledS: number,
): Promise<number> {
  const rigKeys = await allDue(checks, scheduledS)
  const batches = batchesOf(rigKeys, ports.budgets.stepRigsMax).map((keys): RigBatch => ({
    kind: 'check',
    shard,
    rigKeys: keys,
    scheduledS,
  }))
  const behind = await runBatches(ports, batches, rigKeys.length)
  if (behind === 'spread') return 0
  await checks.finishTick({ checkedS: scheduledS, behind })
  return behind
}

/**
 * A batch that came over the queue. It, not the tick that handed it over, says that the rigs were checked: a queue that
 * takes messages and whose consumers never run would else look like a schedule in order.
 */
export async function runQueuedBatch(ports: CheckPorts, batch: RigBatch): Promise<void> {
  const behind = await runBatch(ports, batch)
  await shardOf(ports, batch).checks.finishTick({ checkedS: batch.scheduledS, behind })
}

/**
 * A batch that the platform has given up: each try of it died where nothing could catch it, so one of its rigs takes
 * more time or memory than an invocation has. Alone, each rig has its own tries; one that dies alone is set back, which
 * its page and `/healthz` say, and is tried again after that by the ticks.
 */
export async function takeDeadBatch(ports: CheckPorts, batch: RigBatch): Promise<void> {
  const { checks } = shardOf(ports, batch)
  const [rigKey, ...others] = batch.rigKeys
  if (rigKey === undefined) return
  if (others.length > 0) {
    await ports.spread(batch.rigKeys.map((key) => Object.assign({}, batch, { rigKeys: [key] })))
    return
  }
  ports.log({ event: 'rig-set-back', rig: rigKey, failure: GIVEN_UP })
  await checks.setBack(rigKey, batch.scheduledS + SET_BACK_S, GIVEN_UP)
}

const GIVEN_UP = 'the check never came to its end'

/** Few rigs are checked here; many are spread, and what the queue does not take is checked here as far as it goes. */
async function runBatches(
  ports: CheckPorts,
  batches: readonly RigBatch[],
  rigs: number,
): Promise<number | 'spread'> {
  if (rigs > ports.budgets.inlineRigsMax) {
    try {
      await ports.spread(batches)
      return 'spread'
    } catch (error) {
      ports.log({ event: 'spread-failed', message: String(error).slice(0, 200) })
    }
  }
  let behind = 0
  for (const batch of batches) behind += await runBatch(ports, batch)
  return behind
}

async function allDue(checks: CheckStore, nowS: number): Promise<readonly number[]> {
  const due: number[] = []
  for (;;) {
    const page = await checks.dueRigs(due.at(-1) ?? 0, DUE_PAGE, nowS)
    due.push(...page)
    if (page.length < DUE_PAGE) return due
  }
}

const DUE_PAGE = 5000

function batchesOf(rigKeys: readonly number[], size: number): readonly (readonly number[])[] {
  const batches: (readonly number[])[] = []
  for (let from = 0; from < rigKeys.length; from += size) batches.push(rigKeys.slice(from, from + size))
  return batches
}

/**
 * Checks a batch of rigs until each is up to date or the invocation's steps are used up. Gives the number still behind.
 * An unknown shard is a message from another deployment: an error.
 */
export async function runBatch(ports: CheckPorts, batch: RigBatch): Promise<number> {
  const shard = shardOf(ports, batch)
  let rigKeys = batch.rigKeys
  for (let step = 0; step < ports.budgets.stepsMax && rigKeys.length > 0; step++)
    rigKeys = await stepRigs(ports, shard.checks, { rigKeys, scheduledS: batch.scheduledS })
  return rigKeys.length
}

function shardOf(ports: CheckPorts, { shard }: RigBatch): CheckPorts['shards'][number] {
  const found = ports.shards.find((candidate) => candidate.shard === shard)
  if (found === undefined) throw new Error(`no shard ${shard}`)
  return found
}

type Ask = { readonly rigKeys: readonly number[]; readonly scheduledS: number }

/** One step of each rig. Gives those that have to go on. */
async function stepRigs(ports: CheckPorts, checks: CheckStore, ask: Ask): Promise<readonly number[]> {
  const targetS = gridAt(ask.scheduledS - SETTLING_S)
  const memories = await checks.memories(ask.rigKeys, ask.scheduledS)
  const trouble = new Map<number, string>()
  const found = await startsOf(checks, { memories, targetS, trouble })
  const { starts, waiting } = shareOut(found, ports.budgets)
  const long = starts.filter(isLong).length
  const inputs =
    starts.length === 0
      ? new Map<number, () => RigInputs>()
      : await checks.inputs(starts.map((start) => spanOf(start, ports.budgets.stepReadingsMax / long)))
  const steps: RigStep[] = []
  const behind: number[] = waiting.map((start) => start.memory.rigKey)
  for (const start of starts) {
    const { rigKey, reachedS } = start.memory
    const known = start.gridS < reachedS ? await checks.openAlerts(rigKey) : []
    const done = attempt(trouble, rigKey, () => {
      const given = inputs.get(rigKey)?.()
      return given === undefined ? null : stepOf({ start, inputs: given, targetS, known })
    })
    if (done === null) continue
    if (done.step !== null) steps.push(done.step)
    if (done.isBehind) behind.push(rigKey)
  }
  for (const chunk of chunksOf(steps)) await checks.writeSteps(chunk, tokenOf(ports))
  for (const [rigKey, failure] of trouble) {
    ports.log({ event: 'rig-set-back', rig: rigKey, failure })
    await checks.setBack(rigKey, ask.scheduledS + SET_BACK_S, failure)
  }
  return behind
}

async function startsOf(
  checks: CheckStore,
  ask: {
    readonly memories: readonly RigMemory[]
    readonly targetS: number
    readonly trouble: Map<number, string>
  },
): Promise<readonly Start[]> {
  const { memories, targetS, trouble } = ask
  const planned: { memory: RigMemory; plan: Plan; checkpoint: string | null }[] = []
  for (const memory of memories) {
    const plan = attempt(trouble, memory.rigKey, () => planOf(memory))
    if (plan === null) continue
    const checkpoint =
      plan.kind === 'back'
        ? await checks.checkpointBefore({ ...memory, version: MEMORY_VERSION, beforeS: plan.beforeS })
        : null
    planned.push({ memory, plan, checkpoint: checkpoint?.body ?? null })
  }
  const fresh = planned.filter(({ plan, checkpoint }) => plan.kind !== 'on' && checkpoint === null)
  const anew = fresh.map(({ memory }) => memory)
  const begins = anew.length === 0 ? new Map<number, Beginning>() : await checks.beginnings(anew)
  return planned.flatMap(({ memory, plan, checkpoint }) => {
    const beginning = begins.get(memory.rigKey) ?? null
    const start = attempt(trouble, memory.rigKey, () =>
      startOf({ memory, plan, checkpoint, beginning, targetS }),
    )
    return start === null ? [] : [start]
  })
}

/** One rig whose data makes the code throw is noted, left alone for an hour, and stops no other. Pure work only. */
function attempt<T>(trouble: Map<number, string>, rigKey: number, work: () => T): T | null {
  try {
    return work()
  } catch (error) {
    trouble.set(rigKey, error instanceof Error ? `${error.name}: ${error.message}`.slice(0, 300) : 'unknown')
    return null
  }
}

function isLong(start: Start): boolean {
  return start.toS - start.gridS > SHORT_SPAN_S
}

/** Of the rigs that have much to catch up only some go on in this step; the others keep their place. */
function shareOut(
  found: readonly Start[],
  budgets: Budgets,
): { readonly starts: readonly Start[]; readonly waiting: readonly Start[] } {
  const long = found.filter(isLong)
  return {
    starts: [...found.filter((start) => !isLong(start)), ...long.slice(0, budgets.behindRigsMax)],
    waiting: long.slice(budgets.behindRigsMax),
  }
}

function spanOf(start: Start, readingsMax: number): InputSpan {
  return {
    rigKey: start.memory.rigKey,
    fromS: start.gridS,
    toS: start.toS,
    logFromS: start.isNew ? -1 : start.gridS,
    readingsMax: Math.max(READINGS_MIN, Math.floor(readingsMax / start.places)),
  }
}

/** Two grid steps of a hub that reports every second: less would not get anywhere. */
const READINGS_MIN = 2 * GRID_S

/** Statements have a size limit: big memories go in several transactions, each rig in one. */
function chunksOf(steps: readonly RigStep[]): readonly (readonly RigStep[])[] {
  const chunks: RigStep[][] = []
  let bytes = Number.POSITIVE_INFINITY
  for (const step of steps) {
    const size = step.checkpoints.reduce((sum, checkpoint) => sum + checkpoint.body.length, step.body.length)
    if (bytes + size > WRITE_MAX_BYTES) {
      chunks.push([])
      bytes = 0
    }
    chunks.at(-1)?.push(step)
    bytes += size
  }
  return chunks
}

function tokenOf(ports: CheckPorts): string {
  return Array.from(ports.randomBytes(16), (byte) => byte.toString(16).padStart(2, '0')).join('')
}
