import type { Evidence, OpenAlert } from '../fold/outputs.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600
const DAY_S = 24 * HOUR_S

/** A plateau that opens within a week of landing is that flight's water; later it is something else. */
const OF_FLIGHT_S = 7 * DAY_S
/** A plateau is over after two hours below it: the rest of the water comes in waves. */
const CLEAN_S = 2 * HOUR_S
/**
 * Drops under oil and films give their water back after the air has come down, run after run: a pump takes most of it out in a
 * day (as `fold/wet-engine.ts` has it), and until then no grams are a flight's.
 */
const GIVES_BACK_S = DAY_S
/** So long a run that comes down to `stop` is waited for, s: by then films have given back what they had. */
const STOP_WAIT_S = 4 * DAY_S

type WetMemory = {
  /** The flight that the open note is of, s; `null` while none is open. */
  flightAtS: number | null
  /** The ledger when the rig was back on after the last flight, and what it has taken up since, g. */
  fromG: number
  tookG: number | null
  closedSinceS: number | null
  /** The gate's own water was all that an engine can hold. */
  isSpent: boolean
  /** It was ended because its time was over, as it would be of a rig in order. */
  isTimedOut: boolean
  /** The aircraft flew again out of a plateau: it goes on as the next flight's. */
  isGoingOn: boolean
}

/** When the plateau of the last flight began, s; `null` if there is none. */
function beganAtS({ isGoingOn }: WetMemory, { flightAtS, wetGate }: Moment): number | null {
  const { openedAtS } = wetGate
  if (flightAtS === null || openedAtS === null) return null
  if (openedAtS >= flightAtS - HOUR_S) return openedAtS - flightAtS < OF_FLIGHT_S ? openedAtS : null
  return isGoingOn ? flightAtS : null
}

/**
 * What the beads have taken up since the rig was back on: until the run that shows it, pumped air was the hangar's, or none. What
 * came before the plateau opened is the flight's as well.
 */
function count(memory: WetMemory, moment: Moment): void {
  const { flightAtS, sinceFlightG, pump, suspended, unhookedAtS, unansweredFlightAtS } = moment
  if (memory.flightAtS !== null && flightAtS === memory.flightAtS) {
    memory.tookG = sinceFlightG === null ? null : Math.max(0, sinceFlightG - memory.fromG)
    return
  }
  const nowG = sinceFlightG ?? 0
  const isOff = suspended === 'off' || unhookedAtS !== null
  const isAwaited = unansweredFlightAtS !== null && pump.state !== 'run'
  // A new flight begins at none.
  memory.fromG = isOff || isAwaited ? nowG : Math.min(memory.fromG, nowG)
}

function told(memory: WetMemory, { flightAtS, wetGate, latest, settings }: Moment): Evidence {
  return {
    flightAtS,
    openedAtS: wetGate.openedAtS,
    isPlateau: wetGate.isOpen,
    nowPct: latest.return?.humidityPct ?? null,
    nowAtS: latest.return?.atS ?? null,
    stopPct: settings.band.stopPct,
    movedG: memory.tookG,
    budgetG: wetGate.budgetG,
    expectedH: wetGate.expectedH,
  }
}

function over(
  memory: WetMemory,
  { driedAtS, latest }: Moment,
  open: OpenAlert,
  end: { readonly by: string; readonly atS: number },
): Verdict {
  memory.flightAtS = null
  return {
    kind: 'clear',
    evidence: {
      endedBy: end.by,
      // Else its time or the water that an engine can hold was over first, or its air did not look as if it were moved.
      isTimedOut: memory.isTimedOut,
      isSpent: memory.isSpent,
      isDried: driedAtS !== null && driedAtS >= open.sinceS,
      movedG: memory.tookG,
      tookH: (end.atS - open.sinceS) / HOUR_S,
      nowPct: latest.return?.humidityPct ?? null,
      nowAtS: latest.return?.atS ?? null,
      doneAtS: end.atS,
    },
  }
}

/** The plateau is over: whether it was evaporation, and whether that has come to its end. */
function follow(memory: WetMemory, moment: Moment, open: OpenAlert): Verdict {
  const { atS, wetGate, driedAtS, stoppedAtS, pump } = moment
  const isNews = memory.closedSinceS === null
  if (isNews) memory.isTimedOut = wetGate.isTimedOut === true && wetGate.isStagnant !== true
  const closedSinceS = (memory.closedSinceS ??= atS)
  const holds: Verdict = {
    kind: 'holds',
    urgency: 'note',
    sinceS: open.sinceS,
    evidence: { ...told(memory, moment), openedAtS: open.sinceS },
    isNews,
  }
  if (atS - closedSinceS < CLEAN_S) return holds
  if (driedAtS === null || driedAtS < open.sinceS)
    return over(memory, moment, open, { by: 'still wet', atS: closedSinceS })
  if (pump.state !== 'run' && stoppedAtS !== null && stoppedAtS >= driedAtS) {
    if (atS - open.sinceS >= GIVES_BACK_S)
      return over(memory, moment, open, { by: 'stop reached', atS: stoppedAtS })
  } else if (atS - driedAtS >= STOP_WAIT_S) return over(memory, moment, open, { by: 'no stop', atS })
  return holds
}

function judge(memory: WetMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const { wetGate, flightAtS, atS } = moment
  count(memory, moment)
  if (open !== null && flightAtS !== memory.flightAtS) {
    memory.isGoingOn = wetGate.isOpen
    return over(memory, moment, open, { by: 'flown again', atS: flightAtS ?? atS })
  }
  if (!wetGate.isOpen) {
    memory.isGoingOn = false
    return open === null ? CLEAR : follow(memory, moment, open)
  }
  const isNews = memory.closedSinceS !== null
  memory.closedSinceS = null
  memory.isSpent = (wetGate.movedG ?? 0) >= wetGate.budgetG
  const sinceS = open?.sinceS ?? beganAtS(memory, moment)
  if (sinceS === null) return SAME
  if (open === null) {
    memory.flightAtS = flightAtS
    count(memory, moment)
  }
  return { kind: 'holds', urgency: 'note', sinceS, evidence: told(memory, moment), isNews }
}

/**
 * Water of a flight is coming out: how much, how long, done or not. Needs the flight in the logbook, and flow for grams. What is
 * told is the ledger's: more than half of the water of an engine can come after its plateau.
 */
export const wetAfterFlight: Rule<WetMemory> = {
  name: 'wet-after-flight',
  start: () => ({
    flightAtS: null,
    fromG: 0,
    tookG: null,
    closedSinceS: null,
    isSpent: false,
    isTimedOut: false,
    isGoingOn: false,
  }),
  step: judge,
  pause: (memory, moment) => {
    count(memory, moment)
    memory.closedSinceS = null
  },
}
