/** Composition of the schedule and the queue: what a tick does, in its order, and what a message asks for. */
import * as z from 'zod'
import type { HttpPorts } from './adapters/http/context.ts'
import type { Budgets } from './core/limits.ts'
import { QUEUE_RETRIES } from './core/limits.ts'
import type { CheckPorts, RigBatch } from './flows/run-checks.ts'
import { runQueuedBatch, runTick, takeDeadBatch } from './flows/run-checks.ts'
import type { SweepOf } from './wire-messages.ts'

export type ScheduleWork = {
  readonly checks: CheckPorts
  readonly budgets: Budgets
  readonly log: HttpPorts['log']
  readonly sendMessages: (sweep: SweepOf) => Promise<void>
  /** What follows the checks, each by its name; one that fails does not keep the others from their turn. */
  readonly after: readonly (readonly [string, (nowS: number) => Promise<unknown>])[]
}

/**
 * One tick: the checks first, because everything else follows from them. Throws at the end if anything failed, so that
 * the platform counts the run as failed; nothing is lost by it.
 */
export async function runSchedule(work: ScheduleWork, scheduledS: number): Promise<void> {
  const failures: unknown[] = []
  const parts = [['checks', (nowS: number) => runTick(work.checks, nowS)] as const, ...work.after]
  for (const [name, run] of parts) {
    try {
      await run(scheduledS)
    } catch (error) {
      failures.push(error)
      work.log({ event: 'schedule-failed', part: name, message: String(error).slice(0, 300) })
    }
  }
  if (failures.length > 0)
    throw new AggregateError(failures, `${failures.length} parts of the schedule failed`)
}

const rigBatch = z.object({
  kind: z.literal('check'),
  shard: z.int().min(0),
  rigKeys: z.array(z.int().min(1)).max(1000),
  scheduledS: z.int().min(0),
})

const sweepOf = z.object({
  kind: z.literal('messages'),
  scheduledS: z.int().min(0),
  nth: z.int().min(0).max(1000),
})
const queued = z.discriminatedUnion('kind', [rigBatch, sweepOf])

type Message = Pick<MessageBatch['messages'][number], 'body' | 'attempts' | 'ack' | 'retry'>
type Queued = z.infer<typeof queued>

/**
 * Each message stands alone: one that fails is tried again, and after its last try left to the ticks, which do its work
 * anyway. So what the platform moves to the dead-letter queue is what died where nothing could catch it.
 */
export async function runQueue(
  work: ScheduleWork,
  batch: { readonly queue: string; readonly messages: readonly Message[] },
): Promise<void> {
  const isDead = batch.queue.endsWith(DEAD_QUEUE)
  for (const message of batch.messages) {
    const read = queued.safeParse(message.body)
    if (!read.success) {
      work.log({ event: 'queue-message-unreadable' })
      message.ack()
      continue
    }
    try {
      await (isDead ? takeDead(work, read.data) : take(work, read.data))
      message.ack()
    } catch (error) {
      work.log({ event: 'queue-message-failed', message: String(error).slice(0, 300) })
      if (message.attempts > QUEUE_RETRIES) message.ack()
      else message.retry()
    }
  }
}

/** However a deployment is called, its dead-letter queue ends so. */
const DEAD_QUEUE = '-dead'

function take(work: ScheduleWork, message: Queued): Promise<void> {
  return message.kind === 'messages' ? work.sendMessages(message) : runQueuedBatch(work.checks, message)
}

/** Messages to phones need no more than the line: every tick sweeps what was not sent. */
async function takeDead(work: ScheduleWork, message: Queued): Promise<void> {
  work.log({ event: 'queue-message-dead' })
  if (message.kind === 'check') await takeDeadBatch(work.checks, message)
}

/** A queue takes up to 100 messages at a time. */
const SEND_MAX = 100

export async function spreadBatches(queue: Queue, batches: readonly RigBatch[]): Promise<void> {
  for (let from = 0; from < batches.length; from += SEND_MAX)
    await queue.sendBatch(batches.slice(from, from + SEND_MAX).map((body) => ({ body })))
}
