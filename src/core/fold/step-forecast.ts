import { weighByRunTime, weighBySupply } from '../beads/ensemble-update.ts'
import { exitPct, freshCells } from '../beads/ensemble.ts'
import {
  forecastOf,
  type MembersLeft,
  needsRun,
  type Pace,
  type PaceError,
  type Path,
  runMembers,
} from '../beads/forecast.ts'
import {
  arrivalAir,
  flightEveryDays,
  gBetweenFlights,
  gPerFlight,
  idleGPerDay,
  oneFlightScatter,
  passUptakeTime,
  uptakeLnSd,
} from '../beads/uptake.ts'
import { newestDryS } from '../trace/run-time.ts'
import { fillOf, takenG } from './fill.ts'
import type { FillMemory } from './fill-memory.ts'
import { heldG } from './held.ts'
import { countedLnSd } from './counted-error.ts'
import { lastWetS } from './wet-engine.ts'
import { besideSdG, countedG } from './ledger-error.ts'
import { GRID_S } from './memory.ts'
import { isRigAway } from './log-memory.ts'
import type { Known, Work } from './work.ts'

const DAY_S = 86_400
/** Evidence of one kind takes the place of the one before, so it may be taken often; once a day is enough for the forecast. */
const WEIGH_EVERY_S = DAY_S
/** Members are run forward anew after this time, s, or after this share of what was left. */
const RUN_EVERY_S = 7 * DAY_S
const RUN_EVERY_SHARE = 0.06
/** The temperature of the bed in a forecast is the mean over about this many days. */
const TEMP_DAYS = 10

/** How water reaches the beads at the rig's present pace, and from now on. */
export function paceOf(work: Known): Pace {
  const { memory, settings, gridS } = work
  const { uptake } = memory.beads
  const everyDays = flightEveryDays(uptake, gridS)
  return {
    flightsPerDay: everyDays === null ? 0 : 1 / Math.max(0.1, everyDays),
    gPerFlight: gPerFlight(uptake),
    idleGPerDay: Math.max(1e-3, idleGPerDay(uptake)),
    gBetweenFlights: gBetweenFlights(uptake, everyDays ?? 0),
    air: arrivalAir(uptake, (settings.band.startPct + settings.band.stopPct) / 2),
    bedTempC: memory.beads.tempC ?? 15,
    stopPct: settings.band.stopPct,
  }
}

function errorOf(work: Work, fill: FillMemory): PaceError {
  const { uptake } = work.memory.beads
  const sd = uptakeLnSd(uptake)
  return {
    flightLnSd: sd.flight,
    idleLnSd: sd.idle,
    everyLnSd: sd.every,
    oneFlightScatter: oneFlightScatter(uptake),
    ledgerSdG: besideSdG(work, fill),
    flowLnSd: countedLnSd(work),
    countedG: countedG(fill),
  }
}

/** Members are run forward anew when a part of the pace has moved by this share. */
const PACE_SHARE = 0.1

function isOtherPace(before: readonly [number, number, number], pace: Pace): boolean {
  const now = [pace.flightsPerDay, pace.gPerFlight, pace.idleGPerDay]
  return now.some((value, index) => Math.abs(value - (before[index] ?? 0)) > PACE_SHARE * value)
}

/** Nothing counts the water any more: a ledger that stands still would promise the same days for ever. */
function withholdForecast(work: Work, fill: FillMemory): void {
  if (fill.forecast === null) return
  fill.forecast = null
  fill.odds = null
  fill.spentAtS = null
  work.fills.push(fillOf(fill, null))
}

/** Makes the forecast anew: once a day, and after whatever changes it at once. */
export function renewForecast(work: Work): void {
  const { memory, gridS } = work
  const { fill } = memory.beads
  if (fill === null || fill.ensemble === null) return
  if (work.settings.flowLPerMin === null) {
    withholdForecast(work, fill)
    return
  }
  const pace = paceOf(work)
  const taken = takenG(fill)
  const leftG = fill.forecast?.capacityG?.mid ?? 0
  let { left } = fill
  const isOld =
    left === null ||
    needsRun(fill.ensemble, left) ||
    gridS - fill.leftAtS >= RUN_EVERY_S ||
    isOtherPace(fill.leftPace, pace) ||
    taken - fill.leftTakenG > Math.max(1, RUN_EVERY_SHARE * (leftG - taken))
  if (left === null || isOld) {
    left = runMembers(fill.ensemble, pace, { share: fill.pathShare, heldG: heldG(work, fill, pace) })
    fill.left = left
    fill.leftAtS = gridS
    fill.leftTakenG = taken
    fill.leftPace = [pace.flightsPerDay, pace.gPerFlight, pace.idleGPerDay]
  }
  const now = { atS: gridS, isProven: fill.holds !== null }
  const { forecast, odds } = forecastOf(fill.ensemble, left, pace, errorOf(work, fill), now)
  fill.odds = odds
  const isSpent = forecast.daysLeft !== null && forecast.daysLeft.mid <= 0
  fill.spentAtS = isSpent ? (fill.spentAtS ?? gridS) : null
  fill.forecast = isSpent ? { ...forecast, emptyAtS: fill.spentAtS } : forecast
  work.fills.push(fillOf(fill, null))
}

/**
 * The ratio is of the last dry runs, the columns are of now. After a flight there is no dry run for days, while its water is in the
 * columns at once: a ratio from before it would refute just those that it has filled, and what is told of the beads would
 * grow with every flight. It counts again with the first dry run since.
 */
function isOfNow(memory: Work['memory']): boolean {
  return (newestDryS(memory.runTime) ?? 0) > lastWetS(memory)
}

/** The run-time ratio and the supply sensor weigh the members, at most once a day, and when the fill ends. */
export function weighMembers(work: Known, isLast = false): void {
  const { memory, settings, gridS } = work
  const { fill } = memory.beads
  if (fill === null || fill.ensemble === null) return
  if (!isLast && fill.weighedAtS !== null && gridS - fill.weighedAtS < WEIGH_EVERY_S) return
  const tempC = memory.places.return.latest?.tempC ?? 15
  const { now } = memory.runTime
  const bandPct = settings.band.startPct - settings.band.stopPct
  const supply = memory.places.supply.latest
  const hasRatio = now !== null && isOfNow(memory)
  if (hasRatio) {
    weighByRunTime(fill.ensemble, {
      ...now,
      tempC,
      highPct: settings.band.startPct - 0.33 * bandPct,
      lowPct: settings.band.stopPct + 0.17 * bandPct,
    })
  }
  const hasSupply = supply !== null && gridS - supply.atS < DAY_S && supply.humidityPct !== null
  if (hasSupply) {
    const sensorSdPct2 = 2
    weighBySupply(fill.ensemble, {
      pct: supply.humidityPct ?? 0,
      sensorSdPct: sensorSdPct2,
      tempC: supply.tempC ?? tempC,
    })
  }
  if (!hasRatio && !hasSupply) return
  fill.weighedAtS = gridS
}

/** A run forward from fresh beads and the true path may differ by so much, as a share. */
const PATH_MIN = 0.6
const PATH_MAX = 1.1
/** Weight of one fill that was used up in what is believed of the path. */
const PATH_GAIN = 0.7
/** The exit air says where the front is once it has come up by this share of `stop`. */
const EXIT_TELLS_SHARE = 0.3

/** What members that were run forward hold in all since their bake, weighted, g. */
export function capacityG(left: MembersLeft, weights: readonly number[]): number {
  let sum = 0
  for (let member = 0; member < weights.length; member++) {
    sum += (weights[member] ?? 0) * ((left.waterG[member] ?? 0) + (left.takenG[member] ?? 0))
  }
  return sum
}

/** A run forward as it is. */
const WHOLE: Path = { share: 1, heldG: null }

/** At the end of a fill: how much of a capacity run forward its true path reached. The jar's next fill begins with it. */
export function learnPath(work: Work): void {
  const { fill } = work.memory.beads
  if (fill === null || fill.ensemble === null) return
  const { ensemble } = fill
  const pace = paceOf(work)
  const exitShare = exitPct(ensemble, pace.bedTempC) / pace.stopPct
  const trust = Math.min(1, Math.max(0, (exitShare - EXIT_TELLS_SHARE) / (1 - EXIT_TELLS_SHARE)))
  if (trust === 0) return
  const fresh = { ...ensemble, cells: freshCells(ensemble) }
  const reached = capacityG(runMembers(ensemble, pace, WHOLE), ensemble.weights)
  const share = reached / Math.max(1, capacityG(runMembers(fresh, pace, WHOLE), ensemble.weights))
  fill.pathShare += PATH_GAIN * trust * (Math.min(PATH_MAX, Math.max(PATH_MIN, share)) - fill.pathShare)
}

/** Time passes for the beads: pace and temperature are learned, and the forecast is made once a day. */
export function stepForecast(work: Work): void {
  const { memory, gridS } = work
  const { beads } = memory
  const metalC = memory.metal.tempC
  if (metalC !== null) {
    const share = GRID_S / (TEMP_DAYS * DAY_S)
    beads.tempC = beads.tempC === null ? metalC : beads.tempC + share * (metalC - beads.tempC)
  }
  const isCounted = work.settings.flowLPerMin !== null
  if (!memory.inGap && !isRigAway(memory.log, gridS))
    passUptakeTime(beads.uptake, gridS, GRID_S / 3600, isCounted)
  const day = Math.floor(gridS / DAY_S)
  if (day === beads.forecastDay) return
  beads.forecastDay = day
  renewForecast(work)
}
