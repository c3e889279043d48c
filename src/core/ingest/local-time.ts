/** Local times of a hub to UTC, by the zone's own rules (IANA, through Intl). */
import { AHEAD_MAX_S } from '../limits.ts'
import { daysFromCivil } from '../rfc3339.ts'

const DAY_S = 86_400
const QUARTER_S = 900
/** A jump back further than this within a post is another sensor's list, not the end of summer time. */
const OTHER_LIST_S = 2 * 3600

export function isZone(zone: string): boolean {
  try {
    formatOf(zone)
    return true
  } catch {
    return false
  }
}

function formatOf(zone: string): Intl.DateTimeFormat {
  return new Intl.DateTimeFormat('en-US', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  })
}

type Last = { readonly localS: number; readonly atS: number }

/**
 * Converts the times of one post in their order. The hour that comes twice in autumn is told by that order within each
 * `series` (a rig's sensor: hubs with several list one after the other): the first pass until the times go back, then the
 * second; a single post in that hour is of the pass it arrives in. Times that spring leaves out are taken as if the clock
 * had not been set yet. Seconds as if the local time were UTC.
 */
export function localClock(zone: string, receivedS: number): (localS: number, series: number) => number {
  const offsetAtS = offsetsOf(zone)
  const known = new Map<number, Last>()
  return (localS, series) => {
    const last = known.get(series)
    if (localS === last?.localS) return last.atS
    const [first, second] = candidates(localS, offsetAtS)
    const isOtherList = last !== undefined && localS < last.localS - OTHER_LIST_S
    const before = last === undefined || isOtherList ? null : last.atS
    const atS = first === second ? first : pick({ first, second, before, receivedS })
    known.set(series, { localS, atS })
    return atS
  }
}

/** The instants at which the zone's clocks show this time: two in the hour that comes twice, else one, twice. */
function candidates(localS: number, offsetAtS: (atS: number) => number): readonly [number, number] {
  const early = localS - offsetAtS(localS - DAY_S)
  const late = localS - offsetAtS(localS + DAY_S)
  const isReal = (atS: number): boolean => atS + offsetAtS(atS) === localS
  if (isReal(early) && isReal(late)) return early < late ? [early, late] : [late, early]
  if (isReal(late)) return [late, late]
  return [early, early]
}

function pick(between: {
  readonly first: number
  readonly second: number
  readonly before: number | null
  readonly receivedS: number
}): number {
  const { first, second, before, receivedS } = between
  if (second > receivedS + AHEAD_MAX_S) return first
  if (before !== null) return first > before ? first : second
  return Math.abs(receivedS - second) < Math.abs(receivedS - first) && receivedS - second < QUARTER_S
    ? second
    : first
}

/** Seconds ahead of UTC. Looked up once a day, and on the days of a change once a quarter of an hour. */
function offsetsOf(zone: string): (atS: number) => number {
  const format = formatOf(zone)
  const known = new Map<number, number>()
  const lookUp = (atS: number): number => {
    const cached = known.get(atS)
    if (cached !== undefined) return cached
    const offsetS = offsetBy(format, atS)
    known.set(atS, offsetS)
    return offsetS
  }
  return (atS) => {
    const dayS = Math.floor(atS / DAY_S) * DAY_S
    const atStart = lookUp(dayS)
    return atStart === lookUp(dayS + DAY_S) ? atStart : lookUp(Math.floor(atS / QUARTER_S) * QUARTER_S)
  }
}

function offsetBy(format: Intl.DateTimeFormat, atS: number): number {
  const parts = new Map(format.formatToParts(atS * 1000).map(({ type, value }) => [type, Number(value)]))
  const part = (type: Intl.DateTimeFormatPartTypes): number => parts.get(type) ?? 0
  const shownS =
    daysFromCivil(part('year'), part('month'), part('day')) * DAY_S +
    part('hour') * 3600 +
    part('minute') * 60 +
    part('second')
  return shownS - atS
}
