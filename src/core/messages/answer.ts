/** What a push service's answer means for the message and for the subscription it was sent to. */

/** The answer as received, or why there was none (`unsendable`: the message could not be encrypted or signed). `retryAfterS` is already a span in seconds, whatever its form was. */
export type PushAnswer =
  | { readonly kind: 'answered'; readonly status: number; readonly retryAfterS: number | null }
  | { readonly kind: 'no-answer'; readonly why: 'time-out' | 'connection' | 'unsendable' }

export type Outcome =
  | { readonly kind: 'sent' }
  /** The subscription has ended: it is deleted, whatever else waits for it is dropped. */
  | { readonly kind: 'gone' }
  /** The service does not accept our key or our request. The subscription may be good: keep it, tell the host. */
  | { readonly kind: 'refused'; readonly status: number; readonly retryAfterS: number | null }
  /** Too large for this service, though under the size all of them promise: say it shorter. */
  | { readonly kind: 'too-large' }
  /** Nothing wrong with the message: try again later. */
  | { readonly kind: 'later'; readonly why: FailureWord; readonly retryAfterS: number | null }

/** Stable words, for the log, the counters and the device's page. */
export type FailureWord = 'time-out' | 'connection' | 'unsendable' | 'busy' | 'server-error' | 'redirect'

/**
 * RFC 8030 sections 5 and 8.4, RFC 8292 section 4.2: 201 accepted, 404/410 ended, 413 too large, 429 too many,
 * 401/403 the application server's key is not accepted. A redirect is never followed: it could lead anywhere.
 */
export function judgeAnswer(answer: PushAnswer): Outcome {
  if (answer.kind === 'no-answer') return { kind: 'later', why: answer.why, retryAfterS: null }
  const { status, retryAfterS } = answer
  if (status >= 200 && status < 300) return { kind: 'sent' }
  if (status === 404 || status === 410) return { kind: 'gone' }
  if (status === 413) return { kind: 'too-large' }
  if (status === 429) return { kind: 'later', why: 'busy', retryAfterS }
  if (status >= 500) return { kind: 'later', why: 'server-error', retryAfterS }
  if (status >= 300 && status < 400) return { kind: 'later', why: 'redirect', retryAfterS: null }
  return { kind: 'refused', status, retryAfterS }
}

/** What went wrong, as one stable word with the status where there is one. */
export function failureWord(outcome: Exclude<Outcome, { kind: 'sent' }>): string {
  if (outcome.kind === 'later') return outcome.why
  return outcome.kind === 'refused' ? `refused-${outcome.status}` : outcome.kind
}
