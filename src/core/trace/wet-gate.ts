/**
 * The stretch after a flight, rig-on, preheat, first hook-up or gap in which a high plateau is evaporation and the rig
 * is in order. It opens only when the reading rose as the pump moved air (flow proven), and ends by the reading or by
 * the water budget: more water than an engine can hold is no evaporation.
 */
export type WetGateMemory = {
  /** Something happened that can have wetted the engine, s; used up when the gate opens. */
  eligibleFromS: number | null
  isOpen: boolean
  isProven: boolean
  openedAtS: number | null
  movedG: number
  /** Lowest reading since the pump started or the event, % RH: the rise is measured from there. */
  lowPct: number | null
  lowAtS: number
  largestG: number
  flightsKnown: number
}

/** Water an engine holds after a flight at the very most, g, until five flights are known; then twice the largest. */
const BUDGET_FIRST_G = 40
const FLIGHTS_MIN = 5
const BUDGET_MIN_G = 10

/** The reading has to rise by this to prove that engine air reaches the sensor, % RH, or by 5 sigma. */
const RISE_MIN_PCT = 5
/** The rise is looked for within this time of the lowest reading, s. */
const RISE_WITHIN_S = 2 * 3600
/**
 * No room left for a rise: the box was as wet as the engine. The plateau is believed, but not for long: a dead pump has
 * to be known within a day and a half.
 */
const NO_ROOM_PCT = 5
/**
 * Air over liquid water leaves an engine nearly saturated at the metal: water in the sump keeps ten times the pump's
 * flow saturated. Over ice 0.9 of that, with a sensor 4 % off 0.8. Hangar air and air from films lie lower, and fall.
 */
const EVAPORATING_SHARE = 0.7
/** The same without a temperature, % RH: the box may be 8 K warmer than the engine. */
const EVAPORATING_PCT = 45
const UNPROVEN_MAX_S = 22 * 3600
/** Without a stated flow no budget can be spent: time alone ends the gate, s. */
const NO_FLOW_MAX_S = 36 * 3600
/** An event wets the engine for this long at most before its first run, s. */
const ELIGIBLE_MAX_S = 14 * 86_400
/** A rise this steep to this height without any entry is a flight that nobody logged, % RH. */
const UNLOGGED_RISE_PCT = 15
const UNLOGGED_LEVEL_PCT = 80

export function startWetGate(atS: number): WetGateMemory {
  return {
    eligibleFromS: atS,
    isOpen: false,
    isProven: false,
    openedAtS: null,
    movedG: 0,
    lowPct: null,
    lowAtS: atS,
    largestG: 0,
    flightsKnown: 0,
  }
}

/** A flight, rig-on, preheat or the end of a gap. */
export function makeEligible(gate: WetGateMemory, atS: number): void {
  gate.eligibleFromS = atS
  gate.lowPct = null
}

export function budgetG(gate: WetGateMemory): number {
  return gate.flightsKnown < FLIGHTS_MIN ? BUDGET_FIRST_G : Math.max(BUDGET_MIN_G, 2 * gate.largestG)
}

function open(gate: WetGateMemory, atS: number, isProven: boolean): void {
  gate.isOpen = true
  gate.isProven = isProven
  gate.openedAtS = atS
  gate.movedG = 0
  gate.eligibleFromS = null
}

function close(gate: WetGateMemory): void {
  if (gate.isProven && gate.movedG > 0.5) {
    gate.flightsKnown += 1
    gate.largestG = Math.max(gate.largestG, gate.movedG)
  }
  gate.isOpen = false
  gate.openedAtS = null
}

export type GatePoint = {
  readonly atS: number
  readonly humidityPct: number
  readonly startPct: number
  readonly sigmaPct: number
  /** Water moved since the reading before, g; `null` without a flow. */
  readonly movedG: number | null
  /** Vapour density over saturation at the metal; `null` where a temperature is missing. */
  readonly evaporatingShare: number | null
}

function isEvaporating(point: GatePoint): boolean {
  return point.evaporatingShare === null
    ? point.humidityPct >= EVAPORATING_PCT
    : point.evaporatingShare >= EVAPORATING_SHARE
}

function tryOpen(gate: WetGateMemory, point: GatePoint): void {
  const { humidityPct, atS } = point
  if (gate.lowPct === null || humidityPct < gate.lowPct || atS - gate.lowAtS > RISE_WITHIN_S) {
    gate.lowPct = humidityPct
    gate.lowAtS = atS
  }
  if (humidityPct <= 1.5 * point.startPct || !isEvaporating(point)) return
  const risePct = humidityPct - gate.lowPct
  const isEligible = gate.eligibleFromS !== null && atS - gate.eligibleFromS <= ELIGIBLE_MAX_S
  if (isEligible && risePct >= Math.max(RISE_MIN_PCT, 5 * point.sigmaPct)) open(gate, atS, true)
  else if (isEligible && humidityPct - gate.lowPct < NO_ROOM_PCT) open(gate, atS, false)
  else if (risePct >= UNLOGGED_RISE_PCT && humidityPct >= UNLOGGED_LEVEL_PCT) open(gate, atS, true)
}

/** A reading while the pump runs. */
export function takeGatePoint(gate: WetGateMemory, point: GatePoint): void {
  if (!gate.isOpen) {
    tryOpen(gate, point)
    return
  }
  gate.movedG += point.movedG ?? 0
  const openS = point.atS - (gate.openedAtS ?? point.atS)
  const isSpent =
    gate.movedG >= budgetG(gate) ||
    (!gate.isProven && openS > UNPROVEN_MAX_S) ||
    (point.movedG === null && openS > NO_FLOW_MAX_S)
  if (isSpent || point.humidityPct <= 1.5 * point.startPct || !isEvaporating(point)) close(gate)
}

/** A run came down to the stop limit: whatever wetted the engine is gone, and a plateau after it is none of it. */
export function endEligible(gate: WetGateMemory): void {
  gate.eligibleFromS = null
}

/** The pump started: the rise is measured from the last reading at rest. */
export function startGateRun(gate: WetGateMemory, restPct: number | null, atS: number): void {
  gate.lowPct = restPct
  gate.lowAtS = atS
}
