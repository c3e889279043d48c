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

export type LogMemory = {
  offSinceS: number | null
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

/** True while the engine is known to be without the rig: those hours are unknown, never dry. */
export function isRigAway(log: LogMemory, atS: number): boolean {
  return (
    log.offSinceS !== null ||
    log.unansweredFlightAtS !== null ||
    (log.saltCheck !== null && atS >= log.saltCheck.fromS)
  )
}
