import { isLow } from '../trace/pump.ts'
import { AFTER_FLIGHT_S, FLIGHT_MIN, isFlightDay, slowestPerH, slownessOf } from './drying.ts'
import { type Drop, dropError, dropShares, isMovedAir } from './drying-drop.ts'
import { type Air, type NoDropMemory, dayAgo, referenceOf } from './no-drop-run.ts'
import type { Moment, Sample } from './rule.ts'

const HOUR_S = 3600

/** Nothing is said of less than an hour of drying: engine air, box and sensor are still coming together. */
export const WAIT_MIN_H = 1
/**
 * A run that came out of a plateau by drying, or one of the day after a flight, still has the last gram to dry from
 * few places and an engine that cools: three time constants of the slowest drying, and three hours at least.
 */
const WET_TIME_CONSTANTS = 3
const WET_HOURS_MIN = 3

/**
 * A run that has come some of the way and is still this high after its three time constants starts anew from there, % RH:
 * what oil and films give back settles lower (6 times the air's own water over 36 h, in the slowest loop that is built,
 * lifts the floor by 15 %). Below, standing still is no sign of a dead pump.
 */
export const STILL_HIGH_PCT = 25

/** A plateau stands while it has made less than this of the way down: three times what an hour's weather does to it. */
export const STANDS_SHARE = 0.1

/**
 * For so long after a flight a run may still be on its way down, s: a day beside the engine, a day of plateau, and one in
 * which oil at 15 degC gives back what it took up (its time constant is hours). All of it takes longer in the cold: oil and
 * films go with RH, and what the air carries away of them with its saturated density.
 */
const TAIL_S = 3 * 86_400
/** After a plateau that took longer the oil still has its day, s, at 15 degC. */
const OIL_S = 86_400

/** When the engine was last wetted, as far as anybody can tell, s; an hour that nobody saw may have been a flight. */
function lastWetS({ wettedAtS, backAtS, offMinBefore }: Moment): number | null {
  if (backAtS === null || offMinBefore < FLIGHT_MIN) return wettedAtS
  return Math.max(wettedAtS ?? backAtS, backAtS)
}

/**
 * An engine that stayed wet for so long once may do so again: its water differs from flight to flight by half, and within five
 * days films and oil have given theirs back. Its alerts then come as much later, s.
 */
const OUTLASTED_FACTOR = 1.5
const OUTLASTED_MAX_S = AFTER_FLIGHT_S

/** How long after it was wetted the air of this rig may stand though its pump runs, as far as it has shown, s. */
export function knownWaitS({ outlastedS }: NoDropMemory): number {
  return Math.min(OUTLASTED_MAX_S, OUTLASTED_FACTOR * (outlastedS ?? 0))
}

/**
 * An alert ends as the air comes down half the way. From where it stood a pump that was mended takes it there at once, at the
 * slowest rate of this rig within ln 2 / k; a fall that took longer is the end of the water, and the rig was in order.
 */
export function learnOutlasting(memory: NoDropMemory, moment: Moment, atS: number): void {
  const wetS = lastWetS(moment)
  if (memory.stoodAtS === null || wetS === null) return
  const fellH = (atS - memory.stoodAtS) / HOUR_S
  memory.stoodAtS = null
  if (fellH * slowestPerH(moment) < Math.LN2) return
  memory.outlastedS = Math.max(memory.outlastedS ?? 0, Math.min(OUTLASTED_MAX_S, atS - wetS))
}

export function isWetWithin(moment: Moment, waitS: number): boolean {
  const wetS = lastWetS(moment)
  return wetS !== null && moment.atS - wetS < waitS
}

export function isTailing(memory: NoDropMemory, moment: Moment): boolean {
  const { driedAtS, atS } = moment
  const slowness = slownessOf(moment)
  if (driedAtS !== null && atS - driedAtS < slowness * OIL_S) return true
  return isWetWithin(moment, Math.max(slowness * TAIL_S, knownWaitS(memory)))
}

/**
 * Liquid water holds the air up as well, and not at saturation: what lies in drops and corners, 30 to 100 cm2 at 2 mm/s, clears
 * 0.4 to 1.2 L/min, and behind a pump of 1 to 4 L/min the air comes out at 0.1 to 0.5 of it, as steady as the drops are many. Ten
 * grams take a day or more so, at 15 degC. A run that came down by half has a pump; that it died since is waited for as on any
 * plateau, s.
 */
const DROPS_S = 30 * 3600

/**
 * In these days oil and dead ends give back their water long after a run's air was moved, at rates far below
 * those of any cycle and to a floor they lift. Only air that has stopped falling tells then: far above what they lift it to, or
 * climbing above `start`: in vapour density and in RH alike, for a cooling night raises the one and a warm day the other.
 */
export function hasStopped(memory: NoDropMemory, drop: Drop, moment: Moment, humidityPct: number): boolean {
  if (drop.share >= STANDS_SHARE) return false
  if (drop.most < -STANDS_SHARE && humidityPct > moment.switchStartPct) return true
  const dropsS = Math.max(DROPS_S * slownessOf(moment), knownWaitS(memory))
  return humidityPct >= STILL_HIGH_PCT && !isWetWithin(moment, dropsS)
}

/** An engine has cooled within half a day, s: what its box and hoses dripped or gave back by then has come. */
const STILL_AFTER_S = 12 * 3600

/**
 * Air that nobody has seen moved and that stands in the upper part of the band or above it, while a flight's water may be in it:
 * evaporation that is slower than its pump makes no plateau, but its air falls as the water does.
 */
export function isStill(drop: Drop, moment: Moment, humidityPct: number): boolean {
  const isHigh = !isLow(humidityPct, moment.settings.band)
  return drop.share < STANDS_SHARE && isHigh && !isWetWithin(moment, STILL_AFTER_S)
}

/** Whether its air has come down from `before` by more than it can without being moved. */
export function isMovedSince(memory: NoDropMemory, before: Air, moment: Moment, sample: Sample): boolean {
  const { humidityPct, tempC } = sample
  if (humidityPct === null) return false
  const from = { ...referenceOf(memory), pct: before.pct, tempC: before.tempC }
  const shares = dropShares(from, moment, humidityPct, tempC)
  if (shares === null) return false
  const end = { humidityPct, tempC, count: 1 }
  const drop = { share: shares.least, most: shares.most, error: dropError(from, moment, end) }
  return isMovedAir(drop, from, moment, { ...end, waitedH: (sample.atS - before.atS) / HOUR_S })
}

/**
 * A night that cools the engine, or its last gram in the cold, makes air stand for hours that has been drying for days: what is drier
 * than at the same hour yesterday has not come to rest.
 */
export function isDrierThanYesterday(memory: NoDropMemory, moment: Moment, sample: Sample): boolean {
  const before = dayAgo(memory, sample.atS)
  return before !== null && isMovedSince(memory, before, moment, sample)
}

/**
 * A plateau that nothing proved was waited for long enough: if it still stands for so long, h, it is no evaporation. The last of the
 * water goes within hours of the rest, and a day and a half, by which a dead pump has to be known, are then nearly over; in a
 * saturated box the air has stood long enough.
 */
export function standsH({ wasWet }: NoDropMemory, { wetGate }: Moment): number | null {
  if (!wasWet || wetGate.isTimedOut !== true) return null
  return wetGate.isStagnant === true ? WAIT_MIN_H : WET_HOURS_MIN
}

/** Even the slowest drying is then as good as over. */
export const isOver = (moment: Moment, waitedH: number): boolean =>
  waitedH * slowestPerH(moment) >= WET_TIME_CONSTANTS

/** Whether what a run is drying is long enough under way for its pace to be judged. */
export function isDue(memory: NoDropMemory, moment: Moment, waitedH: number): boolean {
  if (!isFlightDay(moment) && !memory.wasWet) return true
  return waitedH >= WET_HOURS_MIN && isOver(moment, waitedH)
}

/** What comes down from a plateau may be the end of it: for so long the plateau's own air is looked back to, s. */
const PLATEAU_TOP_S = HOUR_S

export function followPlateauTop(memory: NoDropMemory, moment: Moment, sample: Sample): void {
  const { plateauTop, refAtS } = memory
  if (plateauTop === null) return
  if (isMovedSince(memory, plateauTop, moment, sample)) memory.hasMoved = true
  if (sample.atS - (refAtS ?? sample.atS) > PLATEAU_TOP_S) memory.plateauTop = null
}
