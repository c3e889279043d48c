import { EARLY_AFTER_S, isEarlyEnough } from './early-reading.ts'
import {
  type GatePoint,
  hasDriedOut,
  isEngineAir,
  isEvaporating,
  isSaturated,
  isStillEvaporating,
} from './gate-air.ts'
import { WATER_MAX_G, waterBudgetG } from './water-budget.ts'
import { UNPROVEN_MAX_S, type WetGateMemory } from './wet-gate-memory.ts'

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
 * A sensor shows no more than 100 %: of a rise that has got there, as far as its last digit tells, the rest is hidden, % RH. Nor does damp creep
 * beyond what the box could hold when the run began: what is above that has come with the warmth of the engine and of the day.
 */
const CLIPPED_PCT = 99
/** No room left for a rise: the box was as wet as the engine. The plateau is believed, but not for long. */
const NO_ROOM_PCT = 5
/**
 * In the cold the water of a flight takes longer than that: a sensor inside the engine, which sees no rise whatever the pump
 * does, waits times this of what is expected. One in the box has had its chance, moved air would have shown; but where a
 * plateau that was given up has dried by itself, boxes as wet as their engine and days of evaporation are this rig's way.
 */
const COLD_FACTOR = 1.5
/** So long a saturated box is air that stands, once the engine has cooled, s: over a warm one a cold box may drip. */
const SATURATED_S = 3 * 3600
const COOLED_S = 12 * 3600
/** Without a stated flow no budget can be spent: time alone ends the gate, s. A dead pump then has to stand for three hours more. */
const NO_FLOW_MAX_S = 31 * 3600
/** An event wets the engine for this long at most before its first run, s. */
const ELIGIBLE_MAX_S = 14 * 86_400
/** A rise this steep without any entry may be a flight that nobody logged, % RH. */
const UNLOGGED_RISE_PCT = 15

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
  gate.before = null
}

/** The engine is seen to run, whoever has logged it: what it is wetted by is as after any flight. */
export function noticeEngineRun(gate: WetGateMemory, atS: number): void {
  makeEligible(gate, atS)
  gate.wettedAtS = atS
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
  gate.isClipped = false
  gate.wettedAtS = atS
  gate.openedAtS = atS
  gate.saturatedFromS = null
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
  gate.lowPct = null
  gate.before = null
}

/** Whose air opened the gate nobody knows: nothing is learned from it, and it may open anew. */
export function forgetOpen(gate: WetGateMemory): void {
  gate.isOpen = false
  gate.openedAtS = null
  gate.isTimedOut = false
}

/** How far the air has risen within half an hour, % RH. */
function riseOf(gate: WetGateMemory, { unwarmedPct, atS }: GatePoint): number {
  const { before, lowPct } = gate
  gate.before = { atS, pct: unwarmedPct }
  if (lowPct === null || unwarmedPct <= lowPct) {
    gate.lowPct = unwarmedPct
    gate.lowAtS = atS
  } else if (atS - gate.lowAtS > RISE_WITHIN_S) {
    // Air that stood at its lowest for half an hour may leap with this very reading.
    const isNear = before !== null && atS - before.atS <= RISE_WITHIN_S && before.pct < unwarmedPct
    gate.lowPct = isNear ? before.pct : unwarmedPct
    gate.lowAtS = isNear ? before.atS : atS
  }
  return unwarmedPct - (gate.lowPct ?? unwarmedPct)
}

function tryOpen(gate: WetGateMemory, point: GatePoint, risePct: number): void {
  const { humidityPct, atS } = point
  if (humidityPct <= 1.5 * point.startPct || !isEvaporating(point, risePct >= NO_ROOM_PCT)) return
  const { isUnhooked, areFlightsLogged } = point
  // A rig that lies open in the hangar after its landing comes back with a leap.
  const isHookUp = !isUnhooked || risePct >= UNLOGGED_RISE_PCT
  const isEligible = isHookUp && gate.eligibleFromS !== null && atS - gate.eligibleFromS <= ELIGIBLE_MAX_S
  // Before the engine's air has come through the box nothing can be said of a rise that is missing.
  const isSettled = atS - gate.runFromS >= 2 * EARLY_AFTER_S
  if (isEligible && risePct >= Math.max(RISE_MIN_PCT, 5 * point.sigmaPct)) open(gate, atS, true)
  else if (isEligible && isSettled && risePct < NO_ROOM_PCT) open(gate, atS, false)
  else if (risePct >= UNLOGGED_RISE_PCT) {
    if (isEngineAir(point) || (gate.fliesUnlogged && !areFlightsLogged)) open(gate, atS, true)
    else gate.isLeap = true
  }
}

/** A loop that has come open stays wet; air that leapt and dries in the same run was an engine's. */
function followLeap(gate: WetGateMemory, point: GatePoint): void {
  if (!gate.isLeap || !hasDriedOut(point)) return
  gate.isLeap = false
  if (!point.areFlightsLogged) gate.fliesUnlogged = true
}

/**
 * Looks at the shape of the rise once it is an hour old; a creeping one closes the gate again. But one that is all the
 * pump's heat, in air that reads no higher than before, says as little as none: the hose of a hot engine drips, and its box
 * gets wetter only as it warms; nor does one that was clipped.
 */
function judgeShape(gate: WetGateMemory, point: GatePoint): void {
  const sinceS = point.atS - gate.riseFromS
  if (gate.earlyPct === null && isEarlyEnough(sinceS, point.isNew)) gate.earlyPct = point.unwarmedPct
  if (Math.max(point.humidityPct, point.unwarmedPct) >= CLIPPED_PCT) gate.isClipped = true
  if (sinceS < SHAPE_AFTER_S) return
  gate.isShapeDue = false
  const earlyPct = (gate.earlyPct ?? point.unwarmedPct) - gate.riseFromPct
  const isMoved = earlyPct >= EARLY_SHARE * (point.unwarmedPct - gate.riseFromPct)
  // A sensor that is put back into its engine is in wet air whether or not that is moved.
  gate.isProven = isMoved && !point.isInEngine
  // Nor is a slow rise there damp that creeps through a dead pump: what was dried first becomes wet again.
  const hasShape = !point.isSaidInEngine && !gate.isClipped
  if (!isMoved && hasShape && point.humidityPct - gate.riseFromPct >= NO_ROOM_PCT) close(gate, false)
}

/** A plateau that was given up goes on: once its air has come down it was evaporation, and so much water is to be expected. */
function followOutlasting(gate: WetGateMemory, point: GatePoint): void {
  gate.movedG += point.movedG ?? 0
  if (!hasDriedOut(point)) return
  gate.isTimedOut = false
  // Air that stood and now falls is a pump that was mended.
  if (gate.saturatedFromS !== null) return
  gate.driedAtS = point.atS
  gate.outlastedS = Math.max(gate.outlastedS ?? 0, point.atS - gate.pumpedFromS)
  gate.largestG = Math.max(gate.largestG, Math.min(WATER_MAX_G, gate.movedG))
}

/** How long a plateau without proof takes on this rig, s; 0 where moved air would have shown. */
function takesS(
  { outlastedS }: WetGateMemory,
  { isInEngine, expectedS, evaporatingShare }: GatePoint,
): number {
  if (!isInEngine && outlastedS === null) return 0
  // Without a temperature what is expected is that of the climate's mean, and a cold week takes as long as the last one did; without a flow
  // nothing is expected, and only that is known.
  return Math.max(expectedS ?? 0, expectedS === null || evaporatingShare === null ? (outlastedS ?? 0) : 0)
}

/** Whether the box has been saturated for so long that its air cannot be moved. */
function isStagnant(gate: WetGateMemory, point: GatePoint): boolean {
  const { atS } = point
  const isCool = atS - gate.pumpedFromS > COOLED_S
  gate.saturatedFromS = isCool && isSaturated(point) ? (gate.saturatedFromS ?? atS) : null
  return gate.saturatedFromS !== null && atS - gate.saturatedFromS >= SATURATED_S
}

/**
 * A gate that the damp air of a hangar opened after a landing, while the pump is only supposed to run: the air leaps once more,
 * as it does when the rig comes back to its engine.
 */
function isLaterHookUp(gate: WetGateMemory, point: GatePoint, risePct: number): boolean {
  if (gate.isProven || gate.isShapeDue || !point.isPumpInferred) return false
  return risePct >= UNLOGGED_RISE_PCT && isEvaporating(point, true)
}

/** A reading while the pump runs. */
export function takeGatePoint(gate: WetGateMemory, point: GatePoint): void {
  const risePct = riseOf(gate, point)
  if (!gate.isOpen) {
    if (gate.isTimedOut && !point.isUnhooked) followOutlasting(gate, point)
    followLeap(gate, point)
    tryOpen(gate, point, risePct)
    return
  }
  if (isLaterHookUp(gate, point, risePct)) {
    open(gate, point.atS, true)
    gate.pumpedFromS = point.atS
    gate.riseFromS = point.atS
  }
  gate.movedG += point.movedG ?? 0
  gate.unprovenMaxS = Math.max(UNPROVEN_MAX_S, COLD_FACTOR * takesS(gate, point))
  if (gate.isShapeDue) judgeShape(gate, point)
  if (!gate.isOpen) return
  const openS = point.atS - (gate.openedAtS ?? point.atS)
  // Whatever proved the flow before, what has seemed to be carried out since teaches nothing.
  const isStill = isStagnant(gate, point)
  if (isStill) gate.isProven = false
  const isTimedOut =
    isStill ||
    (!gate.isProven && !gate.isShapeDue && point.atS - gate.pumpedFromS > gate.unprovenMaxS) ||
    (point.movedG === null && openS > Math.max(NO_FLOW_MAX_S, gate.unprovenMaxS))
  const hasDried = point.humidityPct <= point.startPct || !isStillEvaporating(point)
  const isSpent = gate.movedG >= waterBudgetG(gate)
  if (!isTimedOut && !isSpent && !hasDried) return
  gate.isTimedOut = isTimedOut
  if (hasDried) gate.driedAtS = point.atS
  close(gate, hasDried)
}

/** A run came down to the stop limit: whatever wetted the engine is gone, and a plateau after it is none of it. */
export function endEligible(gate: WetGateMemory): void {
  gate.eligibleFromS = null
}

/** The pump started: the rise is measured from the last reading at rest. What a run before it waited for is over. */
export function startGateRun(gate: WetGateMemory, restPct: number | null, atS: number): void {
  if (!gate.isOpen) gate.isTimedOut = false
  gate.isLeap = false
  resumeGateRun(gate, restPct, atS)
}

/** The pump kept running while nobody listened: a plateau that was given up may still go on. */
export function resumeGateRun(gate: WetGateMemory, restPct: number | null, atS: number): void {
  gate.lowPct = restPct
  gate.lowAtS = atS
  gate.before = null
  gate.runFromS = atS
}
