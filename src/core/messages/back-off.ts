import { PUSH_BACK_OFF_BASE_S, PUSH_BACK_OFF_MAX_S, PUSH_RETRY_AFTER_MAX_S } from '../limits.ts'

/**
 * Seconds until the next attempt after `attempts` failed ones (1 or more).
 * Doubles from one minute up to an hour; the upper half of each span is drawn at random, so that many messages
 * that failed together do not come back together. A service that names a time is never asked sooner.
 * `draw` is uniform in 0..1 and comes from outside.
 */
export function backOffS(input: {
  readonly attempts: number
  readonly draw: number
  readonly retryAfterS: number | null
}): number {
  const doublings = Math.min(Math.max(input.attempts, 1) - 1, 10)
  const spanS = Math.min(PUSH_BACK_OFF_BASE_S * 2 ** doublings, PUSH_BACK_OFF_MAX_S)
  const jitteredS = Math.round(spanS / 2 + (input.draw * spanS) / 2)
  if (input.retryAfterS === null) return jitteredS
  const askedS = Math.min(Math.max(input.retryAfterS, 0), PUSH_RETRY_AFTER_MAX_S)
  // The jitter comes on top here: all clients of a busy service are told the same second.
  return Math.max(askedS + Math.round((input.draw * PUSH_BACK_OFF_BASE_S) / 2), jitteredS)
}
