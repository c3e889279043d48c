import { EARLY_AFTER_S, isEarlyEnough } from './early-reading.ts'
import { WATER_MAX_G, waterBudgetG } from './water-budget.ts'

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
  /** Such a plateau dried by itself after all: the sensor saw no rise though the air was moved. */
  hasOutlasted: boolean
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
  /** When the pump started, s. */
  runFromS: number
  /** Where the rise of the open gate began, and its first reading after a quarter of an hour; for its shape. */
  riseFromPct: number
  riseFromS: number
  earlyPct: number | null
  /** When the gate was last opened, whether or not it is open now, s. */
  wettedAtS: number | null
  largestG: number
  flightsKnown: number
}

/** The reading has to rise by this to prove that engine air reaches the sensor, % RH, or by 5 sigma. */
const RISE_MIN_PCT = 5
/** The rise is looked for within this time of the lowest reading, s: report lag and a slow reading included. */
const RISE_WITHIN_S = 1800
/**
 * Moved air arrives at once, through a few litres of hose at litres a minute: most of the rise is there after a quarter
 * of an hour. Damp that creeps through a dead pump takes hours: of its rise in the first hour a third at most has come.
 */
const SHAPE_AFTER_S = 3600
const EARLY_SHARE = 0.6
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
/** The same at 4 L/min, through a pool that clears 6 L/min (see below) and a sensor that is 4 % off. */
const THINNED_SHARE = 0.55
/**
 * What holds an open gate lies lower. A pool of 0.05 m2 gives off water at 2 mm/s, so it clears kA = 6 L/min, and the pump's
 * air comes out at kA/(kA + F) of saturation: 0.6 at 4 L/min. As the pool shrinks to half it is 0.43, over ice 0.9 of that.
 */
const HOLDING_SHARE = 0.38
/**
 * A long run warms the box by up to 8 K, and where the metal's temperature is only assumed from it, 0.8 then reads 0.5, and
 * the above 0.24; the air falls through any such share within an hour once the water is gone.
 */
const HOLDING_SHARE_ASSUMED = 0.24
/** The same without a temperature, % RH: the box may be 8 K warmer than the engine. */
const EVAPORATING_PCT = 45
/** And of a gate that is open, % RH: by day the hangar runs 6 K ahead of the metal besides. */
const HOLDING_PCT = 30
const UNPROVEN_MAX_S = 30 * 3600
/**
 * In the cold the water of a flight takes longer than that: a sensor inside the engine, which sees no rise whatever the pump
 * does, waits times this of what is expected. One in the box has had its chance, moved air would have shown; but where a
 * plateau that was given up has dried by itself, boxes as wet as their engine and days of evaporation are this rig's way.
 */
const COLD_FACTOR = 1.5
/** Without a stated flow no budget can be spent: time alone ends the gate, s. */
const NO_FLOW_MAX_S = 33 * 3600
/** An event wets the engine for this long at most before its first run, s. */
const ELIGIBLE_MAX_S = 14 * 86_400
/**
 * A rise this steep to this height without any entry is a flight that nobody logged, % RH; but not if the hangar's own air
 * can be as wet: then it is a loop that has come open. Two cheap sensors side by side differ by less than 10 %, and in damp
 * air by more: 4 % RH and half a degree of either are 9 % of 75 % RH, and twice that is a chance. Where only the climate is
 * stated, a damp day lies two standard deviations of 12 % RH above its 65 %.
 */
const UNLOGGED_RISE_PCT = 15
const UNLOGGED_LEVEL_PCT = 80
const OVER_HANGAR_PCT = 10
const OVER_HANGAR_SHARE = 0.2
const OVER_CLIMATE_SHARE = 0.37

export function startWetGate(atS: number): WetGateMemory {
  return {
    eligibleFromS: atS,
    isOpen: false,
    isProven: false,
    isTimedOut: false,
    hasOutlasted: false,
    isShapeDue: false,
    openedAtS: null,
    pumpedFromS: atS,
    movedG: 0,
    unprovenMaxS: UNPROVEN_MAX_S,
    lowPct: null,
    lowAtS: atS,
    runFromS: atS,
    riseFromPct: 0,
    riseFromS: atS,
    earlyPct: null,
    wettedAtS: null,
    largestG: 0,
    flightsKnown: 0,
  }
}

/**
 * A flight, rig-on, preheat or the end of a gap. `before` is what the sensor read until then, where that is known and of
 * other air than the engine's: a rise is measured from there.
 */
export function makeEligible(
  gate: WetGateMemory,
  atS: number,
  before: { readonly atS: number; readonly humidityPct: number | null } | null = null,
): void {
  const isRecent = before !== null && atS - before.atS <= RISE_WITHIN_S
  gate.eligibleFromS = atS
  gate.lowPct = isRecent ? before.humidityPct : null
  gate.lowAtS = atS
}

/** Opens the gate: with a rise whose shape has yet to prove the flow, or unproven where there was no room for one. */
function open(gate: WetGateMemory, atS: number, hasRise: boolean): void {
  gate.isOpen = true
  gate.isProven = false
  gate.isTimedOut = false
  gate.isShapeDue = hasRise
  gate.riseFromPct = gate.lowPct ?? 0
  gate.riseFromS = gate.lowAtS
  gate.earlyPct = null
  gate.wettedAtS = atS
  gate.openedAtS = atS
  gate.pumpedFromS = Math.max(gate.runFromS, gate.eligibleFromS ?? 0)
  gate.movedG = 0
  gate.eligibleFromS = null
}

/** `hasDried`: the air came down, so it was moved, whether or not a rise had shown it. */
function close(gate: WetGateMemory, hasDried: boolean): void {
  if (gate.isProven || hasDried) {
    if (gate.movedG > 0.5) gate.flightsKnown += 1
    gate.largestG = Math.max(gate.largestG, gate.movedG)
  }
  gate.isOpen = false
  gate.openedAtS = null
}

export type GatePoint = {
  readonly atS: number
  readonly humidityPct: number
  /** The reading differs from the one before. */
  readonly isNew: boolean
  /** The same air at the temperature that the sensor had when the run began, % RH: a box that the pump warms hides a rise. */
  readonly unwarmedPct: number
  readonly startPct: number
  readonly sigmaPct: number
  /** Water moved since the reading before, g; `null` without a flow. */
  readonly movedG: number | null
  /** How long the usual water of a flight takes at this temperature and flow, s; `null` without a flow. */
  readonly expectedS: number | null
  /** Vapour density over saturation at the metal; `null` where a temperature is missing. */
  readonly evaporatingShare: number | null
  readonly isInEngine: boolean
  /** The temperature of the metal comes from a sensor in the hangar, not from the box. */
  readonly isMetalMeasured: boolean
  /** Hangar air as this sensor would read it, % RH, and whether it is measured. */
  readonly hangarPct: number
  readonly isHangarMeasured: boolean
}

/**
 * Air of the hangar, as far as anybody can tell. Without a rise it came with the box: a loop that has come open since would have
 * changed it.
 */
function isMaybeHangar(point: GatePoint, hasRise: boolean): boolean {
  if (point.isInEngine) return false
  return point.isHangarMeasured ? Math.abs(point.humidityPct - point.hangarPct) <= OVER_HANGAR_PCT : hasRise
}

/** Where no hangar air is mistaken for it, what the pump thins it to at the most is enough to open the gate. */
function isEvaporating(point: GatePoint, hasRise: boolean): boolean {
  const { evaporatingShare, humidityPct } = point
  if (evaporatingShare === null) return humidityPct >= EVAPORATING_PCT
  return evaporatingShare >= (isMaybeHangar(point, hasRise) ? EVAPORATING_SHARE : THINNED_SHARE)
}

/**
 * The air came down. In a box that is warmer than the engine, air that is saturated at the metal reads 40 %: above `start`, what
 * holds the plateau decides.
 */
function hasDriedOut(point: GatePoint): boolean {
  const { humidityPct, startPct } = point
  if (humidityPct > 1.5 * startPct) return false
  return humidityPct <= startPct || !isStillEvaporating(point)
}

function isStillEvaporating({ evaporatingShare, humidityPct, isMetalMeasured }: GatePoint): boolean {
  if (evaporatingShare === null) return humidityPct >= HOLDING_PCT
  return evaporatingShare >= (isMetalMeasured ? HOLDING_SHARE : HOLDING_SHARE_ASSUMED)
}

/** Wetter than any air the hangar can have had: it comes from an engine. */
function isEngineAir({ humidityPct, hangarPct, isHangarMeasured }: GatePoint): boolean {
  const share = isHangarMeasured ? OVER_HANGAR_SHARE : OVER_CLIMATE_SHARE
  return humidityPct >= Math.max(UNLOGGED_LEVEL_PCT, hangarPct + OVER_HANGAR_PCT, (1 + share) * hangarPct)
}

function tryOpen(gate: WetGateMemory, point: GatePoint): void {
  const { humidityPct, unwarmedPct, atS } = point
  if (gate.lowPct === null || unwarmedPct <= gate.lowPct || atS - gate.lowAtS > RISE_WITHIN_S) {
    gate.lowPct = unwarmedPct
    gate.lowAtS = atS
  }
  const risePct = unwarmedPct - gate.lowPct
  if (humidityPct <= 1.5 * point.startPct || !isEvaporating(point, risePct >= NO_ROOM_PCT)) return
  const isEligible = gate.eligibleFromS !== null && atS - gate.eligibleFromS <= ELIGIBLE_MAX_S
  // Before the engine's air has come through the box nothing can be said of a rise that is missing.
  const isSettled = atS - gate.runFromS >= 2 * EARLY_AFTER_S
  if (isEligible && risePct >= Math.max(RISE_MIN_PCT, 5 * point.sigmaPct)) open(gate, atS, true)
  else if (isEligible && isSettled && risePct < NO_ROOM_PCT) open(gate, atS, false)
  else if (risePct >= UNLOGGED_RISE_PCT && isEngineAir(point)) open(gate, atS, true)
}

/**
 * Looks at the shape of the rise once it is an hour old; a creeping one closes the gate again. But one that is all the
 * pump's heat, in air that reads no higher than before, says as little as none: the hose of a hot engine drips, and its box
 * gets wetter only as it warms.
 */
function judgeShape(gate: WetGateMemory, point: GatePoint): void {
  const sinceS = point.atS - gate.riseFromS
  if (gate.earlyPct === null && isEarlyEnough(sinceS, point.isNew)) gate.earlyPct = point.unwarmedPct
  if (sinceS < SHAPE_AFTER_S) return
  gate.isShapeDue = false
  const earlyPct = (gate.earlyPct ?? point.unwarmedPct) - gate.riseFromPct
  const isMoved = earlyPct >= EARLY_SHARE * (point.unwarmedPct - gate.riseFromPct)
  // A sensor that is put back into its engine is in wet air whether or not that is moved.
  gate.isProven = isMoved && !point.isInEngine
  if (!isMoved && point.humidityPct - gate.riseFromPct >= NO_ROOM_PCT) close(gate, false)
}

/** A plateau that was given up goes on: once its air has come down it was evaporation, and so much water is to be expected. */
function followOutlasting(gate: WetGateMemory, point: GatePoint): void {
  gate.movedG += point.movedG ?? 0
  if (!hasDriedOut(point)) return
  gate.isTimedOut = false
  gate.hasOutlasted = true
  gate.largestG = Math.max(gate.largestG, Math.min(WATER_MAX_G, gate.movedG))
}

/** A reading while the pump runs. */
export function takeGatePoint(gate: WetGateMemory, point: GatePoint): void {
  if (!gate.isOpen) {
    if (gate.isTimedOut) followOutlasting(gate, point)
    tryOpen(gate, point)
    return
  }
  gate.movedG += point.movedG ?? 0
  const coldS = point.isInEngine || gate.hasOutlasted ? COLD_FACTOR * (point.expectedS ?? 0) : 0
  gate.unprovenMaxS = Math.max(UNPROVEN_MAX_S, coldS)
  if (gate.isShapeDue) judgeShape(gate, point)
  if (!gate.isOpen) return
  const openS = point.atS - (gate.openedAtS ?? point.atS)
  const isTimedOut =
    (!gate.isProven && !gate.isShapeDue && point.atS - gate.pumpedFromS > gate.unprovenMaxS) ||
    (point.movedG === null && openS > NO_FLOW_MAX_S)
  const hasDried = point.humidityPct <= point.startPct || !isStillEvaporating(point)
  const isSpent = gate.movedG >= waterBudgetG(gate)
  if (!isTimedOut && !isSpent && !hasDried) return
  gate.isTimedOut = isTimedOut
  close(gate, hasDried)
}

/** A run came down to the stop limit: whatever wetted the engine is gone, and a plateau after it is none of it. */
export function endEligible(gate: WetGateMemory): void {
  gate.eligibleFromS = null
}

/** The pump started: the rise is measured from the last reading at rest. What a run before it waited for is over. */
export function startGateRun(gate: WetGateMemory, restPct: number | null, atS: number): void {
  if (!gate.isOpen) gate.isTimedOut = false
  gate.lowPct = restPct
  gate.lowAtS = atS
  gate.runFromS = atS
}
