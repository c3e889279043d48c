/** A span of any length is one; beyond this it makes no difference. */
const SECONDS_MAX = 1e9

/**
 * Seconds to wait from a `Retry-After` header (RFC 9110 section 10.2.3): a number of seconds, or an HTTP date in
 * any of its three forms. A date in the past is 0. `null` if there is no header or it is neither.
 */
export function retryAfterS(header: string | null, nowMs: number): number | null {
  const text = header?.trim() ?? ''
  if (/^\d+$/.test(text)) return Math.min(Number(text), SECONDS_MAX)
  // Without a letter it is no HTTP date, though the parser would take "2026" for one.
  if (!/^[A-Z][a-z]{2}/.test(text)) return null
  // The asctime form names no zone and means GMT too.
  const dateMs = Date.parse(text.endsWith('GMT') ? text : `${text} GMT`)
  return Number.isNaN(dateMs) ? null : Math.max(0, Math.ceil((dateMs - nowMs) / 1000))
}
