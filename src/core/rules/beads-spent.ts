import type { Evidence, Interval, OpenAlert } from '../fold/outputs.ts'
import { isAfterFlight } from './drying.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/**
 * Judged by probabilities, not by the edges of an interval: the capacity of a first fill is known within a factor of two, so
 * an interval's low edge reaches zero at half the fill, and a middle of three flights is a whole fill on half a kilogram and
 * a quarter of a year for who flies monthly. Three ways to know enough:
 * - the exit says so: more likely than not the exit air has left the bake's residual, which is the last fifth of a fill, and the
 *   ledger leaves two months at most in the middle (a sensor or a leak that lengthens runs on fresh beads is floor-rising's);
 * - the ledger says so: 0.7 that the time which the warning looks ahead is not left (four weeks, less where a fill is short);
 * - waiting costs more than going: 0.35 that a week is not left. A needless bake costs an evening; beads found used up cost
 *   days of a damp engine until the runs show it, about twice as much: worth a bake from one in three on.
 * A warning in doubt is right more often than not by construction, no better: a first fill whose front is short can be told
 * in time or surely, not both.
 */
const FRONT = 0.5
const UNPROVEN = { ahead: 0.7, week: 0.35 } as const
/**
 * A jar whose earlier fills were used up is known within 15 to 20 %: the middle is then wrong by a flight, not by half a fill, and
 * what a bake too early wastes is that flight. So it is asked little more than the one in three at which waiting costs as much.
 */
const PROVEN = { ahead: 0.4, week: 0.2 } as const
const FRONT_DAYS = 60

/** Over only with clear room again, as after a weighing that found more: six flights and six weeks. */
const CLEAN_FLIGHTS = { low: 1, mid: 6 } as const
const CLEAN_DAYS = { low: 7, mid: 42 } as const
/**
 * For as long as the rule looks ahead, s: a wet week after a flight lengthens runs and a dry one shortens them, and the odds
 * go up and down with both. Who was sent for the next four weeks is called off when four weeks have shown room.
 */
const CLEAN_S = 28 * DAY_S

/** Exit air as wet as `stop`, measured beside the beads late in a run, twice in a row, s into the run. */
const SUPPLY_AFTER_S = HOUR_S
const SUPPLY_HITS = 2

/**
 * Metal over 40 % for a day, with beads that cannot take it down: no longer a matter of the next visit. After a flight the
 * metal is wet for a day or more with any beads, so those days do not count; and what was `now` once stays it.
 */
const WET_METAL_PCT = 40
const WET_METAL_S = 24 * HOUR_S

type BeadsMemory = {
  wetMetalSinceS: number | null
  supplyHits: number
  supplySinceS: number | null
  /** Since when there has been room while the alert stands, s. */
  roomSinceS: number | null
}

const start = (): BeadsMemory => ({
  wetMetalSinceS: null,
  supplyHits: 0,
  supplySinceS: null,
  roomSinceS: null,
})

type Room = { readonly low: number; readonly mid: number }

function isPlenty(left: Interval | null | undefined, room: Room): boolean {
  return left === null || left === undefined || (left.low >= room.low && left.mid >= room.mid)
}

/** Which of the three ways says that it is time, or `null`. */
function byOdds({ beadsOdds, forecast }: Moment): 'front' | 'ledger' | null {
  if (beadsOdds === null || forecast === null) return null
  const daysMid = forecast.daysLeft?.mid ?? 0
  // That the runs show it is said only where they do: it may be the ledger alone that has the front through.
  if (beadsOdds.front >= FRONT && daysMid < FRONT_DAYS) return beadsOdds.isFrontSeen ? 'front' : 'ledger'
  const asked = beadsOdds.isProven ? PROVEN : UNPROVEN
  return beadsOdds.ahead >= asked.ahead || beadsOdds.week >= asked.week ? 'ledger' : null
}

function followSupply(memory: BeadsMemory, moment: Moment): void {
  const { pump } = moment
  if (pump.state !== 'run' || pump.sinceS === null) return
  for (const sample of moment.fresh) {
    if (sample.place !== 'supply' || sample.correctedPct === null) continue
    if (sample.atS - pump.sinceS < SUPPLY_AFTER_S) continue
    const isSpent = sample.correctedPct >= moment.settings.band.stopPct
    memory.supplyHits = isSpent ? memory.supplyHits + 1 : 0
    if (memory.supplyHits === 0) memory.supplySinceS = null
    else memory.supplySinceS ??= sample.atS
  }
}

function evidenceOf(memory: BeadsMemory, moment: Moment, by: string): Evidence {
  const { forecast } = moment
  return {
    by,
    takenUpG: forecast?.takenUpG?.mid ?? null,
    capacityG: forecast?.capacityG?.mid ?? null,
    flightsLeftLow: forecast?.flightsLeft?.low ?? null,
    flightsLeftMid: forecast?.flightsLeft?.mid ?? null,
    flightsLeftHigh: forecast?.flightsLeft?.high ?? null,
    daysLeftLow: forecast?.daysLeft?.low ?? null,
    daysLeftMid: forecast?.daysLeft?.mid ?? null,
    daysLeftHigh: forecast?.daysLeft?.high ?? null,
    emptyAtS: forecast?.emptyAtS ?? null,
    stopPct: moment.settings.band.stopPct,
    supplyPct: by === 'supply' ? (moment.latest.supply?.correctedPct ?? null) : null,
    floorCheckPct: moment.floorCheckPct?.mid ?? null,
    metalPct: moment.metalPct,
    metalWetSinceS: memory.wetMetalSinceS,
    fillFromS: moment.fillFromS,
  }
}

/** What says that the beads are spent, or `null`. */
function reason(memory: BeadsMemory, moment: Moment): string | null {
  if (memory.supplyHits >= SUPPLY_HITS) return 'supply'
  const { floorCheckPct } = moment
  if (floorCheckPct !== null && floorCheckPct.mid - 2 * floorCheckPct.se > moment.settings.band.stopPct)
    return 'floor-check'
  return byOdds(moment)
}

const NO_BAKE: Verdict = {
  kind: 'unknown',
  why: 'these beads were already in use when the rig was first seen: a bake or new beads in the logbook starts the ledger',
}
const MAYBE_CHANGED: Verdict = {
  kind: 'unknown',
  why: 'the beads may have been changed while the rig was off: the logbook has to say',
}
const NO_FORECAST: Verdict = {
  kind: 'unknown',
  why: 'bead mass or flow is missing in the settings, so nothing counts the water',
}

function lackOf(moment: Moment, others: readonly OpenAlert[]): Verdict {
  if (moment.fillFromS === null) return NO_BAKE
  return others.some(({ rule }) => rule === 'swapped') ? MAYBE_CHANGED : NO_FORECAST
}

function step(
  memory: BeadsMemory,
  moment: Moment,
  open: OpenAlert | null,
  others: readonly OpenAlert[],
): Verdict {
  const isWetMetal = moment.metalPct !== null && moment.metalPct > WET_METAL_PCT
  if (isWetMetal && !isAfterFlight(moment)) memory.wetMetalSinceS ??= moment.atS
  else memory.wetMetalSinceS = null
  if (open !== null && moment.fillFromS !== null && moment.fillFromS > open.raisedAtS) {
    Object.assign(memory, start())
    return { kind: 'clear', evidence: { endedBy: 'new fill' } }
  }
  followSupply(memory, moment)
  const by = reason(memory, moment)
  if (by !== null) {
    memory.roomSinceS = null
    const isWet = memory.wetMetalSinceS !== null && moment.atS - memory.wetMetalSinceS >= WET_METAL_S
    const urgency = isWet || open?.urgency === 'now' ? 'now' : 'visit'
    // No evidence is built while the alert stands as it is, but once a day: the ledger goes on.
    if (open !== null && open.urgency === urgency && moment.atS % DAY_S !== 0) return SAME
    return {
      kind: 'holds',
      urgency,
      sinceS: memory.supplySinceS ?? moment.atS,
      evidence: evidenceOf(memory, moment, by),
    }
  }
  const { forecast } = moment
  const isCounted = forecast !== null && (forecast.flightsLeft !== null || forecast.daysLeft !== null)
  if (!isCounted && moment.latest.supply === null) return lackOf(moment, others)
  if (open === null) return CLEAR
  const isClean =
    isCounted && isPlenty(forecast.flightsLeft, CLEAN_FLIGHTS) && isPlenty(forecast.daysLeft, CLEAN_DAYS)
  if (!isClean || memory.supplyHits > 0) {
    memory.roomSinceS = null
    return SAME
  }
  memory.roomSinceS ??= moment.atS
  if (moment.atS - memory.roomSinceS < CLEAN_S) return SAME
  Object.assign(memory, start())
  return { kind: 'clear', evidence: { endedBy: 'forecast' } }
}

/**
 * The beads are about to be used up, or are. Needs a fill whose bake is logged, with mass, volume and flow; or a sensor
 * beside the beads; or a floor check. Over with a new fill, or when there has been room for six flights and six weeks for four
 * weeks.
 */
export const beadsSpent: Rule<BeadsMemory> = {
  name: 'beads-spent',
  start,
  step,
  pause: (memory) => {
    memory.supplyHits = 0
    memory.supplySinceS = null
  },
}
