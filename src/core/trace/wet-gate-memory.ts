/**
 * The stretch after a flight, rig-on, preheat, first hook-up or gap in which a high plateau is evaporation and the rig
 * is in order. It opens only when the reading rose as the pump moved air (flow proven), and ends by the reading or by
 * the water budget: more water than an engine can hold is no evaporation.
 */
export type WetGateMemory = {
  /** Something happened that can have wetted the engine, s; used up when the gate opens. */
  eligibleFromS: number | null
  isOpen: boolean
  /** The rise had the shape that only moving air gives. */
  isProven: boolean
  /** The plateau of this run was given up because its time was over. */
  isTimedOut: boolean
  /** How long the longest such plateau took to dry by itself after all, s; `null`: none did. */
  outlastedS: number | null
  /** Since when the box has been saturated though the engine has cooled, s. */
  saturatedFromS: number | null
  /** The air leapt in this run as after a flight that nobody logged; it may as well be the hangar's. */
  isLeap: boolean
  /** Such air has dried by itself while the logbook had no flight: this engine is flown and nobody writes it down. */
  fliesUnlogged: boolean
  /** The rise is less than an hour old: its shape is not known yet. */
  isShapeDue: boolean
  openedAtS: number | null
  /** Since when the pump has had its chance at the water, s: the start of the run, or the event in it. */
  pumpedFromS: number
  movedG: number
  /** How long an unproven plateau is believed, s. */
  unprovenMaxS: number
  /** Lowest reading since the pump started or the event, % RH: the rise is measured from there. */
  lowPct: number | null
  lowAtS: number
  /** The reading before in this run, as it would read unwarmed. */
  before: { atS: number; pct: number } | null
  /** When the pump started, s. */
  runFromS: number
  /** Where the rise of the open gate began, and its first reading after a quarter of an hour; for its shape. */
  riseFromPct: number
  riseFromS: number
  earlyPct: number | null
  /** A reading of it stood at the end of its scale. */
  isClipped: boolean
  /** When the gate was last opened, whether or not it is open now, s. */
  wettedAtS: number | null
  /** When a plateau last came down, s. */
  driedAtS: number | null
  largestG: number
  flightsKnown: number
}

/** How long a plateau without proof is believed, s: a dead pump has to be known within a day and a half. */
export const UNPROVEN_MAX_S = 30 * 3600

export function startWetGate(atS: number): WetGateMemory {
  return {
    eligibleFromS: atS,
    isOpen: false,
    isProven: false,
    isTimedOut: false,
    outlastedS: null,
    saturatedFromS: null,
    isLeap: false,
    fliesUnlogged: false,
    isShapeDue: false,
    openedAtS: null,
    pumpedFromS: atS,
    movedG: 0,
    unprovenMaxS: UNPROVEN_MAX_S,
    lowPct: null,
    lowAtS: atS,
    before: null,
    runFromS: atS,
    riseFromPct: 0,
    riseFromS: atS,
    earlyPct: null,
    isClipped: false,
    wettedAtS: null,
    driedAtS: null,
    largestG: 0,
    flightsKnown: 0,
  }
}
