import type { Reading } from '../../src/core/fold/inputs.ts'
import { encodePost, postMax, type EncodeOptions } from './encode.ts'
import type { Answer } from './answer.ts'
import { sendPost, type Target } from './send.ts'

/** Readings a hub holds while it cannot post: ten weeks of five-minute readings. Then the oldest go. */
const HELD_MAX = 20_000
const FIRST_WAIT_MS = 500
const LONGEST_WAIT_MS = 60_000

export type Tally = {
  /** Accepted by the service, whatever it made of them. */
  acknowledged: number
  stored: number
  repeated: number
  setAside: number
  /** Refused for good: a wrong key, a body the service cannot read. */
  refused: number
  /** Fell out of the buffer before they could be sent. */
  lost: number
  posts: number
  retries: number
  lastProblem: string | null
}

const NOTHING: Tally = {
  acknowledged: 0,
  stored: 0,
  repeated: 0,
  setAside: 0,
  refused: 0,
  lost: 0,
  posts: 0,
  retries: 0,
  lastProblem: null,
}

/**
 * A hub's memory of what it has measured and not yet had acknowledged. `flush` posts the oldest first, keeps
 * everything until the service has said 200, and waits longer after each failure.
 */
export function retryBuffer(target: Target, encode: EncodeOptions) {
  const held: Reading[] = []
  const tally: Tally = { ...NOTHING }
  let waitMs = 0
  let perPost = postMax(encode.kind)
  const onTaken = (count: number, answer: Answer) => {
    held.splice(0, count)
    waitMs = 0
    tally.acknowledged += count
    tally.stored += answer.stored
    tally.repeated += answer.repeated
    tally.setAside += answer.setAsideTotal
    const first = answer.setAside[0]
    if (first !== undefined) tally.lastProblem = `${first.reason} ${first.detail ?? ''}`.trim()
  }
  /** One post. False when the service has to be left alone for a while. */
  const postOldest = async (): Promise<boolean> => {
    const batch = held.slice(0, perPost)
    const sent = await sendPost(target, encodePost(batch, encode))
    tally.posts += 1
    if (sent.kind === 'taken') {
      onTaken(batch.length, sent.answer)
      return true
    }
    tally.lastProblem = sent.why
    // The free plan's settings take fewer records a post, and SenML makes several of a reading.
    if (sent.kind === 'refused' && sent.status === 413 && batch.length > 1) {
      perPost = Math.ceil(batch.length / 10)
      return true
    }
    if (sent.kind === 'refused') {
      held.splice(0, batch.length)
      tally.refused += batch.length
      return true
    }
    tally.retries += 1
    const doubled = Math.min(LONGEST_WAIT_MS, Math.max(FIRST_WAIT_MS, 2 * waitMs))
    waitMs = sent.afterMs === null ? doubled : Math.min(LONGEST_WAIT_MS, sent.afterMs)
    return false
  }
  return {
    tally: tally as Readonly<Tally>,
    held: () => held.length,
    /** How long to wait before the next `flush`, ms; 0 after a success. */
    waitMs: () => waitMs,
    add: (readings: readonly Reading[]) => {
      held.push(...readings)
      const over = held.length - HELD_MAX
      if (over <= 0) return
      held.splice(0, over)
      tally.lost += over
    },
    /** Posts until nothing is held (true) or the service cannot take it now (false). */
    flush: async (): Promise<boolean> => {
      while (held.length > 0) if (!(await postOldest())) return false
      return true
    },
  }
}
export type RetryBuffer = ReturnType<typeof retryBuffer>
