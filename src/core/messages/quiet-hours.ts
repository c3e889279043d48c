/** Quiet hours are the owner's wall clock: 22:00 to 07:00 where they live, on both sides of a clock change. */
export type QuietHours = {
  /** Minutes after local midnight, 0..1439. From and to may lie on different days; equal means none. */
  readonly fromMin: number
  readonly toMin: number
  /** IANA name, e.g. `Europe/Lisbon`. */
  readonly zone: string
}

const DAY_MIN = 1440
/** The most by which clocks are changed: an hour nearly everywhere, two at one place in Antarctica. */
const CLOCK_CHANGE_MAX_MIN = 120
const clocks = new Map<string, Intl.DateTimeFormat>()
/** Formatters are slow to make; the number of zones in one deployment is small, the bound is for safety. */
const CLOCKS_MAX = 64

function clockOf(zone: string): Intl.DateTimeFormat {
  const kept = clocks.get(zone)
  if (kept) return kept
  const made = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  })
  if (clocks.size >= CLOCKS_MAX) clocks.clear()
  clocks.set(zone, made)
  return made
}

/** True if the platform's zone data knows the name. */
export function isZone(zone: string): boolean {
  try {
    return zone.length > 0 && clockOf(zone) !== undefined
  } catch {
    return false
  }
}

/** Minutes after local midnight at `atS` (Unix seconds). Throws RangeError for an unknown zone. */
export function localMinute(atS: number, zone: string): number {
  let hour = 0
  let minute = 0
  for (const part of clockOf(zone).formatToParts(atS * 1000)) {
    if (part.type === 'hour') hour = Number(part.value)
    if (part.type === 'minute') minute = Number(part.value)
  }
  return hour * 60 + minute
}

function isInside(minute: number, quiet: QuietHours): boolean {
  if (quiet.fromMin === quiet.toMin) return false
  return quiet.fromMin < quiet.toMin
    ? minute >= quiet.fromMin && minute < quiet.toMin
    : minute >= quiet.fromMin || minute < quiet.toMin
}

/**
 * When the quiet hours around `atS` end, Unix seconds; `null` if it is not quiet then.
 * Steps a minute at a time near a clock change instead of adding hours, so the message comes at the local
 * time asked for even in the night in which an hour is missing or repeated.
 */
export function quietUntilS(atS: number, quiet: QuietHours): number | null {
  const minute = localMinute(atS, quiet.zone)
  if (!isInside(minute, quiet)) return null
  const leftMin = (quiet.toMin - minute + DAY_MIN) % DAY_MIN
  const startS = atS - (atS % 60)
  // Two hours of slack before the plain answer cover any spring change; then the first minute that is not quiet.
  let untilS = startS + Math.max(leftMin - CLOCK_CHANGE_MAX_MIN - 1, 1) * 60
  for (let step = 0; step <= 3 * CLOCK_CHANGE_MAX_MIN; step += 1) {
    if (!isInside(localMinute(untilS, quiet.zone), quiet)) return untilS
    untilS += 60
  }
  return untilS
}
