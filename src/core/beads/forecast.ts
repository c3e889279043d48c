import type { Forecast, Interval } from '../fold/outputs.ts'
import { runUntilSpent, type SpentAfter, type UptakeMix } from './capacity.ts'
import { quantiles, shareUnder, spread } from './spread.ts'
import { rounded } from '../stats/rounded.ts'
import { type ArrivalAir, INTERVAL_PRIOR_DAYS } from './uptake.ts'
import { exitOverShare } from './ensemble-evidence.ts'
import { bedOf, type EnsembleMemory, memberExitPct, memberTakenG } from './ensemble.ts'

/** What each member had left when it was last run forward; in between it only counts down. One column a quantity. */
export type MembersLeft = {
  waterG: number[]
  days: number[]
  idleDays: number[]
  takenG: number[]
  /** Light members that took over the run of their neighbour. */
  borrowers: number[]
}

/** Decimals kept of grams and days left. */
const LEFT_DECIMALS = 3
const ODDS_DECIMALS = 3

export type Pace = {
  readonly flightsPerDay: number
  readonly gPerFlight: number
  readonly idleGPerDay: number
  /** All water from one flight to the next, g. */
  readonly gBetweenFlights: number
  readonly air: ArrivalAir
  readonly bedTempC: number
  readonly stopPct: number
}

/** How likely it is that the beads are used up within so many days at this pace, and that their exit air has begun to rise. */
export type Odds = {
  readonly week: number
  /** Within the time that a warning looks ahead: four weeks at most. */
  readonly ahead: number
  readonly front: number
  /** Runs, floors or tests speak for it: the ledger alone would not have it so likely. */
  readonly isFrontSeen: boolean
  /** Earlier fills say what the jar holds: it is known within a fifth, not within a factor. */
  readonly isProven: boolean
}

/** Exit air over this share of `stop` has left what a bake leaves behind: the front has come through. */
export const FRONT_SHARE = 0.25

/** Error of what is left beside the members' own spread. */
export type PaceError = {
  readonly flightLnSd: number
  readonly idleLnSd: number
  readonly everyLnSd: number
  readonly oneFlightScatter: number
  /** Of the ledger, g: sensor offset, gaps, the last weighing of the jar. */
  readonly ledgerSdG: number
  /** Of counted water as a share: the flow. */
  readonly flowLnSd: number
  /** Water that was counted since the jar was last weighed, g. */
  readonly countedG: number
}

/** Evidence that makes the front so many times as likely against none speaks for it. */
const SEEN_TIMES = 2

const oddsOf = (share: number): number => share / Math.max(1e-9, 1 - share)

const DAY_S = 86_400

/** Members lighter than this do not move an 80 % interval. */
const LIGHT_WEIGHT = 0.004

/**
 * A run forward takes steady air at one temperature; the true path has warm noons, mixed air and pulses, which blunt the
 * front: about an eighth of the capacity is lost to that until the exit air shows it. `pathShare` is what is kept.
 */
export const PATH_SHARE = 0.9

/** What a column run forward from its present cells is off, as earlier fills have shown. */
export type Path = {
  /** What the true path leaves of a capacity run forward. */
  readonly share: number
  /** What the column in the middle of the belief holds by the ledgers of earlier fills, g; `null` without any. */
  readonly heldG: number | null
}

/**
 * Share of what is left by the run forward that is kept. Where earlier fills say what the jar holds, that is what the whole
 * comes to, whatever the season and the air of the day make of a run forward. As the exit air comes up the cells know
 * better that less is left, and the correction fades; that more is left a run forward in steady air has never known, since a
 * fill ends on a wet day.
 */
function afterPath(spent: SpentAfter, takenG: number, path: Path, exitShare: number): number {
  const wholeG = takenG + spent.waterG
  const isFading = path.heldG === null || path.share > 1
  const lostG = (1 - path.share) * wholeG * (isFading ? 1 - Math.min(1, exitShare) : 1)
  return Math.max(0, 1 - lostG / Math.max(1e-9, spent.waterG))
}

/** The path of one member: the share of its own run forward that it keeps, before the exit air tells. */
function pathOf(ensemble: EnsembleMemory, member: number, runG: number, path: Path): Path {
  if (path.heldG === null || !(runG > 0)) return path
  const { lnScale, counts } = ensemble
  const middle = lnScale[Math.floor(lnScale.length / 2)] ?? 0
  const own = lnScale[Math.floor(member / counts.length)] ?? 0
  return { share: (path.heldG * Math.exp(own - middle)) / runG, heldG: path.heldG }
}

/**
 * In which air the water arrives. What a flight leaves in films and oil comes out in the days after it, in air no wetter than
 * any other. Flights that nobody logs wet the air all the same: the share of water that came so arrives in surges.
 */
function mixOf(pace: Pace): UptakeMix {
  const { air, flightsPerDay, gPerFlight, idleGPerDay, bedTempC, stopPct } = pace
  const alone = { bedTempC, stopPct, flightPct: air.wetPct, idlePct: air.dryPct }
  if (flightsPerDay > 0) {
    const lateG = (1 - air.wetShare) * gPerFlight
    return {
      ...alone,
      flightsPerDay,
      gPerFlight: gPerFlight - lateG,
      idleGPerDay: idleGPerDay + lateG * flightsPerDay,
    }
  }
  return {
    ...alone,
    flightsPerDay: 1 / INTERVAL_PRIOR_DAYS,
    gPerFlight: air.wetShareOfAll * idleGPerDay * INTERVAL_PRIOR_DAYS,
    idleGPerDay: (1 - air.wetShareOfAll) * idleGPerDay,
  }
}

/** Runs every member forward from its present cells. */
export function runMembers(ensemble: EnsembleMemory, pace: Pace, path: Path): MembersLeft {
  const { flightsPerDay, bedTempC, stopPct } = pace
  const mix = mixOf(pace)
  const idleMix = { ...mix, flightsPerDay: 0, gPerFlight: 0, idleGPerDay: pace.idleGPerDay }
  const shapes = ensemble.counts.length
  const middle = Math.floor(shapes / 2)
  let idleDays = 0
  // The middle shape of each scale first: the others of that scale take its idle days and, if light, its run.
  const order = ensemble.cells.map(
    (_, index) => Math.floor(index / shapes) * shapes + ((index + middle) % shapes),
  )
  const left: MembersLeft = { waterG: [], days: [], idleDays: [], takenG: [], borrowers: [] }
  let spent: SpentAfter | null = null
  for (const member of order) {
    const bed = bedOf(ensemble, member)
    const cells = ensemble.cells[member] ?? []
    const isMiddle = member % shapes === middle
    const isOwn = spent === null || isMiddle || (ensemble.weights[member] ?? 0) >= LIGHT_WEIGHT
    if (spent === null || isOwn) {
      spent = runUntilSpent(cells, bed, mix)
    }
    if (isMiddle) {
      // Leakage alone loads the inlet less than flights do, so it is run by itself.
      if (flightsPerDay > 0) idleDays = runUntilSpent(cells, bed, idleMix).days
    }
    const takenG = memberTakenG(ensemble, member, bed)
    const exitShare = memberExitPct(ensemble, member, bedTempC) / stopPct
    const own = pathOf(ensemble, member, takenG + spent.waterG, path)
    const kept = afterPath(spent, takenG, own, exitShare)
    left.waterG[member] = rounded(spent.waterG * kept, LEFT_DECIMALS)
    left.days[member] = rounded(spent.days * kept, LEFT_DECIMALS)
    // The idle days are another shape's, and drier air fills beads less: but less water never fills them sooner.
    const ownIdleDays = flightsPerDay > 0 ? Math.max(idleDays, spent.days) : spent.days
    left.idleDays[member] = rounded(ownIdleDays * kept, LEFT_DECIMALS)
    left.takenG[member] = rounded(takenG, LEFT_DECIMALS)
    if (!isOwn) left.borrowers.push(member)
  }
  return left
}

/** Share of the water that comes with flights, at this pace. */
function flightShare(pace: Pace): number {
  const flightG = pace.flightsPerDay * pace.gPerFlight
  return flightG / Math.max(1e-9, flightG + pace.idleGPerDay)
}

/** Share of all water that comes in wet air, at this pace. */
export function wetShareOf(pace: Pace): number {
  const { air, flightsPerDay } = pace
  return flightsPerDay > 0 ? air.wetShare * flightShare(pace) : air.wetShareOfAll
}

/** Four weeks: earlier than that nobody has to be sent, they come by to fly. */
const AHEAD_MAX_DAYS = 28
/** What a jar with earlier fills holds is known within a quarter. Half of any fill has to be gone before anybody is sent. */
const KNOWN_SHARE = 0.25
const AHEAD_SHARE_MAX = 0.5

/**
 * How far a warning looks ahead, days: a week, the flight that brings somebody to the field, and what the capacity may be off. On a
 * small and hungry rig a whole fill may last four weeks: a warning four weeks ahead would come with the bake.
 */
function aheadDays(pace: Pace, capacityG: number): number {
  const wholeDays = capacityG / (pace.flightsPerDay * pace.gPerFlight + pace.idleGPerDay)
  const everyDays = pace.flightsPerDay > 0 ? 1 / pace.flightsPerDay : 0
  return Math.min(AHEAD_MAX_DAYS, 7 + everyDays + KNOWN_SHARE * wholeDays, AHEAD_SHARE_MAX * wholeDays)
}

/** True when a member that was too light for a run of its own has become heavy. */
export function needsRun(ensemble: EnsembleMemory, left: MembersLeft): boolean {
  return left.borrowers.some((member) => (ensemble.weights[member] ?? 0) >= LIGHT_WEIGHT)
}

/**
 * The forecast from members that were run forward (`left`) and have taken up a little since. 80 % intervals; flights
 * are `null` where none was ever logged. `atS` is now, Unix s; `isProven` whether earlier fills say what the jar holds. With it,
 * what the rule weighs.
 */
export function forecastOf(
  ensemble: EnsembleMemory,
  left: MembersLeft,
  pace: Pace,
  error: PaceError,
  { atS, isProven }: { readonly atS: number; readonly isProven: boolean },
): { forecast: Forecast; odds: Odds } {
  const { weights } = ensemble
  const taken = weights.map((_, member) => memberTakenG(ensemble, member, bedOf(ensemble, member)))
  const remaining = left.waterG.map((grams, member) =>
    Math.max(0, grams - ((taken[member] ?? 0) - (left.takenG[member] ?? 0))),
  )
  const share = remaining.map((grams, member) => grams / Math.max(1e-9, left.waterG[member] ?? 0))
  const byFlight = flightShare(pace)
  const ledger = (member: number): number =>
    Math.min(0.7, error.ledgerSdG / Math.max(5, remaining[member] ?? 0))
  const paceSd = Math.hypot(byFlight * error.flightLnSd, (1 - byFlight) * error.idleLnSd)
  // In grams: what is left over what one flight and the idle days around it bring.
  const perFlightG = pace.gBetweenFlights
  const flights = remaining.map((grams) => grams / perFlightG)
  const days = left.days.map((each, member) => each * (share[member] ?? 0))
  const idleDays = left.idleDays.map((each, member) => each * (share[member] ?? 0))
  const sampling = (member: number): number =>
    (byFlight * error.oneFlightScatter) / Math.sqrt(Math.max(1, flights[member] ?? 1))
  const inDays = spread(weights, days, (member) =>
    Math.hypot(paceSd, byFlight * error.everyLnSd, ledger(member), sampling(member)),
  )
  const daysLeft = quantiles(inDays)
  const idleLeft = quantiles(spread(weights, idleDays, () => error.idleLnSd))
  // No member is used up sooner without flights; of two mixtures that are spread otherwise the middles may say so.
  const idleMidDays = Math.max(daysLeft.mid, idleLeft.mid)
  const forecast = {
    takenUpG: takenInterval(weights, taken, error),
    capacityG: quantiles(
      spread(
        weights,
        taken.map((grams, index) => Math.max(0, grams + (remaining[index] ?? 0))),
        () => error.flowLnSd,
      ),
    ),
    flightsLeft:
      pace.flightsPerDay > 0
        ? quantiles(
            spread(weights, flights, (member) => Math.hypot(paceSd, ledger(member), sampling(member))),
          )
        : null,
    daysLeft,
    emptyAtS: Math.round(atS + daysLeft.mid * DAY_S),
    noFlightsUntilS: Math.round(atS + idleMidDays * DAY_S),
  }
  const front = exitOverShare(ensemble, FRONT_SHARE * pace.stopPct, pace.bedTempC)
  const odds = {
    week: rounded(shareUnder(inDays, 7), ODDS_DECIMALS),
    ahead: rounded(shareUnder(inDays, aheadDays(pace, forecast.capacityG.mid)), ODDS_DECIMALS),
    front: rounded(front.share, ODDS_DECIMALS),
    isFrontSeen: oddsOf(front.share) >= SEEN_TIMES * oddsOf(front.byLedger),
    isProven,
  }
  return { forecast, odds }
}

/** Half width of 80 % of a normal, standard deviations. */
const Z80 = 1.2816

function takenInterval(weights: readonly number[], taken: readonly number[], error: PaceError): Interval {
  let mid = 0
  for (let member = 0; member < taken.length; member++) mid += (weights[member] ?? 0) * (taken[member] ?? 0)
  // Air drier than beads fresh from the oven takes water out of them: they have then taken up none.
  mid = Math.max(0, mid)
  const countedG = Math.min(mid, error.countedG)
  const besideG = Z80 * error.ledgerSdG
  const low = mid - Math.hypot(besideG, countedG * (1 - Math.exp(-Z80 * error.flowLnSd)))
  const high = mid + Math.hypot(besideG, countedG * (Math.exp(Z80 * error.flowLnSd) - 1))
  return { low: Math.max(0, low), mid, high }
}
