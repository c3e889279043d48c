/** What the logbook says about now. Spans are [from, until) in Unix s. */
export type Span = { fromS: number; untilS: number }

export type SaltCheck = Span & {
  salt: string
  shownPct: number | null
  tempC: number | null
  /** Readings of the last two hours of the span, thinned. */
  last: { atS: number; humidityPct: number; tempC: number | null }[]
}

export type FloorCheck = Span & {
  /** The pump as seen: minutes on, and readings of the last 20 minutes. */
  onS: number
  count: number
  sumPct: number
  squares: number
}

export function startFloorCheck(fromS: number, untilS: number): FloorCheck {
  return { fromS, untilS, onS: 0, count: 0, sumPct: 0, squares: 0 }
}

/** Runs that dried, seen while the logbook says that the rig is off: since then, or since the last landing. */
export type OffWatch = {
  /** The wettest air of the run so far, or the last at rest before it: s, % RH, g/m3, and whether only an engine has such air. */
  top: { atS: number; humidityPct: number; densityGm3: number; isWet: boolean } | null
  runs: number
  /** Of these, how many took as long as with an engine between the hoses, and how many of them began in air that only an engine has. */
  engineRuns: number
  wetRuns: number
  firstRunAtS: number | null
  lastRunAtS: number | null
}

export function startOffWatch(): OffWatch {
  return { top: null, runs: 0, engineRuns: 0, wetRuns: 0, firstRunAtS: null, lastRunAtS: null }
}

export type LogMemory = {
  offSinceS: number | null
  offWatch: OffWatch
  powerOffSinceS: number | null
  saltCheck: SaltCheck | null
  floorCheck: FloorCheck | null
  loopTest: (Span & { lastPct: number | null }) | null
  awayUntilS: number | null
  preheatAtS: number | null
  flightAtS: number | null
  unansweredFlightAtS: number | null
  /** Since when the air has been wetter than a measured hangar's while a flight was unanswered, s. */
  wetterFromS: number | null
  onAtS: number | null
  flights: number
  /** The last stretch off or in a gap: its minutes and its end, s. */
  offMin: number
  offEndedAtS: number | null
}

export function startLog(): LogMemory {
  return {
    offSinceS: null,
    offWatch: startOffWatch(),
    powerOffSinceS: null,
    saltCheck: null,
    floorCheck: null,
    loopTest: null,
    awayUntilS: null,
    preheatAtS: null,
    flightAtS: null,
    unansweredFlightAtS: null,
    wetterFromS: null,
    onAtS: null,
    flights: 0,
    offMin: 0,
    offEndedAtS: null,
  }
}

/** A landing suspends judging until the rig is back on, for this long at most, s: later it is left off, or broken. */
const LANDING_MAX_S = 4 * 3600

/** Why nothing is judged at `atS`, or `null`. */
export function suspension(
  log: LogMemory,
  atS: number,
): 'off' | 'salt-check' | 'power-off' | 'flight' | null {
  if (log.offSinceS !== null) return 'off'
  if (log.saltCheck !== null && atS >= log.saltCheck.fromS) return 'salt-check'
  if (log.powerOffSinceS !== null) return 'power-off'
  if (log.unansweredFlightAtS !== null && atS - log.unansweredFlightAtS < LANDING_MAX_S) return 'flight'
  return null
}

/** True while the sensor sits in a salt pot or at the beads' exit: what it reads is not the air that goes round. */
export function isSensorElsewhere({ saltCheck, loopTest }: LogMemory, atS: number): boolean {
  return loopTest !== null || (saltCheck !== null && atS >= saltCheck.fromS)
}

/** True while the sensor is in the loop of this engine, as far as the logbook says: runs are then the rig's own. */
export function isTracked(log: LogMemory, atS: number): boolean {
  return log.offSinceS === null && log.powerOffSinceS === null && !isSensorElsewhere(log, atS)
}

/** True while the rig is logged off and has flown, and its aircraft is not away: it may be back any time, and nobody write it down. */
export function isAwaited({ offSinceS, unansweredFlightAtS, awayUntilS }: LogMemory, atS: number): boolean {
  const isAway = awayUntilS !== null && atS < awayUntilS
  return offSinceS !== null && unansweredFlightAtS !== null && !isAway
}

/** True while runs are followed: as the rig's own, or to see whether it is back. An inferred run is made of the humidity alone. */
export function isFollowed(log: LogMemory, atS: number, isInferred: boolean): boolean {
  if (isTracked(log, atS)) return true
  return !isInferred && isAwaited(log, atS) && log.powerOffSinceS === null && !isSensorElsewhere(log, atS)
}

/** The rig is back since `atS`, by an entry or as its runs show. */
export function endOff(log: LogMemory, atS: number): void {
  const sinceS = log.offSinceS ?? log.powerOffSinceS ?? log.unansweredFlightAtS
  if (sinceS !== null) {
    log.offMin = (atS - sinceS) / 60
    log.offEndedAtS = atS
  }
  log.offSinceS = null
  log.offWatch = startOffWatch()
  log.powerOffSinceS = null
  log.unansweredFlightAtS = null
  log.awayUntilS = null
}

/** True while the engine is known to be without the rig: those hours are unknown, never dry. */
export function isRigAway(log: LogMemory, atS: number): boolean {
  return (
    log.offSinceS !== null ||
    log.unansweredFlightAtS !== null ||
    (log.saltCheck !== null && atS >= log.saltCheck.fromS)
  )
}
