import type { ExposureDay, ExposureH } from './outputs.ts'

/** The class of a stretch of time at the metal: dry to wet, or unknown. */
export type Class = 'under40' | 'from40to60' | 'from60to80' | 'over80' | 'gap' | 'off'

/** Seconds by class. `wet` overlaps `over80`. */
export type Seconds = Record<Class | 'wet', number>

/**
 * Hours of humidity at the metal. Time is accounted up to the last reading, and beyond it only once the silence is a
 * gap. The last half day is also kept in steps, because a flight is logged at landing and its hours lie before that.
 */
export type ExposureMemory = {
  /** Accounted up to here, s. */
  accountedS: number
  total: Seconds
  /** The UTC days still open: today and, until noon, yesterday. */
  days: { fromS: number; seconds: Seconds }[]
  /** Latest stretches: end, class, whether wet. Neighbours of one class are one. */
  recent: [untilS: number, kind: Class, isWet: boolean][]
  recentFromS: number
}

const DAY_S = 86_400
/** A flight longer than this is cut: piston aircraft land before. */
export const FLIGHT_MAX_S = 12 * 3600
/** Stretches kept of that time: more are air that hovers at the edge of a class, and then the newer ones must do. */
const RECENT_MAX = 48

const noSeconds = (): Seconds => ({
  under40: 0,
  from40to60: 0,
  from60to80: 0,
  over80: 0,
  gap: 0,
  off: 0,
  wet: 0,
})

export function startExposure(atS: number): ExposureMemory {
  return { accountedS: atS, total: noSeconds(), days: [], recent: [], recentFromS: atS }
}

/** The class of a relative humidity at the metal, %. The edges belong to the drier class, as in ISO 9223 (over 80 %). */
export function classOf(metalPct: number): Class {
  if (metalPct < 40) return 'under40'
  if (metalPct <= 60) return 'from40to60'
  return metalPct <= 80 ? 'from60to80' : 'over80'
}

/** ISO 9223 time of wetness: over 80 % RH and over 0 degC. */
export function isWetMetal(metalPct: number, metalC: number): boolean {
  return metalPct > 80 && metalC > 0
}

function dayOf(memory: ExposureMemory, atS: number): Seconds {
  const fromS = Math.floor(atS / DAY_S) * DAY_S
  for (const day of memory.days) if (day.fromS === fromS) return day.seconds
  const seconds = noSeconds()
  memory.days.push({ fromS, seconds })
  return seconds
}

function book(
  memory: ExposureMemory,
  fromS: number,
  toS: number,
  kind: Class,
  isWet: boolean,
  sign: 1 | -1,
): void {
  let atS = fromS
  while (atS < toS) {
    const endS = Math.min(toS, (Math.floor(atS / DAY_S) + 1) * DAY_S)
    const seconds = sign * (endS - atS)
    const day = dayOf(memory, atS)
    day[kind] += seconds
    memory.total[kind] += seconds
    if (isWet) {
      day.wet += seconds
      memory.total.wet += seconds
    }
    atS = endS
  }
}

/** Accounts the time up to `toS` to one class. Does nothing if that is already accounted. */
export function account(memory: ExposureMemory, toS: number, kind: Class, isWet: boolean): void {
  const fromS = memory.accountedS
  if (toS <= fromS) return
  book(memory, fromS, toS, kind, isWet, 1)
  memory.accountedS = toS
  const last = memory.recent.at(-1)
  if (last !== undefined && last[1] === kind && last[2] === isWet) last[0] = toS
  else memory.recent.push([toS, kind, isWet])
  const { recent } = memory
  while (recent.length > RECENT_MAX || (recent.length > 1 && (recent[0]?.[0] ?? toS) < toS - FLIGHT_MAX_S)) {
    memory.recentFromS = recent.shift()?.[0] ?? memory.recentFromS
  }
}

/** A flight that ended at `landedS`: its hours were not with the rig, whatever the box showed. */
export function accountFlight(memory: ExposureMemory, landedS: number, flightS: number): void {
  const fromS = landedS - Math.min(FLIGHT_MAX_S, flightS)
  let startS = memory.recentFromS
  for (const [untilS, kind, isWet] of memory.recent) {
    const partFromS = Math.max(startS, fromS)
    const partToS = Math.min(untilS, landedS)
    if (partToS > partFromS && kind !== 'off' && kind !== 'gap') {
      book(memory, partFromS, partToS, kind, isWet, -1)
      book(memory, partFromS, partToS, 'off', false, 1)
    }
    startS = untilS
  }
  memory.recent = [[memory.accountedS, 'off', false]]
  memory.recentFromS = memory.accountedS
}

/** Seconds as the hours that are shown. */
export function hoursOf(seconds: Seconds): ExposureH {
  return {
    under40: seconds.under40 / 3600,
    from40to60: seconds.from40to60 / 3600,
    from60to80: seconds.from60to80 / 3600,
    over80: seconds.over80 / 3600,
    wet: seconds.wet / 3600,
    gapsH: seconds.gap / 3600,
    offH: seconds.off / 3600,
  }
}

/** Writes out the days that no later flight entry can reach any more. */
export function closeDays(memory: ExposureMemory, out: ExposureDay[]): void {
  while (memory.days.length > 0) {
    const day = memory.days[0]
    if (day === undefined || memory.accountedS < day.fromS + DAY_S + FLIGHT_MAX_S) return
    out.push({ fromS: day.fromS, ...hoursOf(day.seconds) })
    memory.days.shift()
  }
}
