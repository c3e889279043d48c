import { FLIGHT_MIN, isGivingBack, slowestPerH } from './drying.ts'
import { hangarGm3 } from './ingress-window.ts'
import type { Moment } from './rule.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/**
 * A leak so large that the pump never comes down to `stop` gives no cycles. A run on a dry engine that has been level for
 * hours, on a rig whose last run ended, while the beads are not used up by the ledger: the loop balances
 * F (rho - floor) with the air that gets in.
 */
const ENDLESS_H = 8
const ENDLESS_TIME_CONSTANTS = 4
export const ENDLESS_TIMES = 3
const LAST_END_S = 3 * DAY_S
/**
 * Level: within a fifth for two hours; the slowest loop that is built, 0.37 /h, takes half of what it still has to go in that
 * time.
 */
const LEVEL_H = 2
const LEVEL_SHARE = 0.2

/** Beads that brought a run to its end so lately, and have longer than that left, are not what keeps this one going. */
const ENDLESS_LEFT_DAYS = 3

/** Between what the air of the run that lasts has been since when, g/m3. */
export type Standing = { runFromS: number; lowGm3: number; highGm3: number; levelFromS: number }

/** What the leak rule keeps of the run that lasts: its air, and when the last run ended, s. */
export type Endless = { standing: Standing | null; lastEndS: number | null }

/** What nobody saw for so long may have been a flight: the run after it dries what that left. */
export function mayHaveFlown({ lastEndS }: Endless, { backAtS, offMinBefore }: Moment): boolean {
  return backAtS !== null && offMinBefore >= FLIGHT_MIN && backAtS >= (lastEndS ?? 0)
}

/** Follows the air of the run that lasts. */
export function followStanding(memory: Endless, { pump, fresh }: Moment): void {
  if (pump.state !== 'run' || pump.sinceS === null) {
    memory.standing = null
    return
  }
  for (const { place, atS, densityGm3 } of fresh) {
    if (place !== 'return' || densityGm3 === null || atS < pump.sinceS) continue
    const { standing } = memory
    if (standing === null || standing.runFromS !== pump.sinceS) {
      memory.standing = {
        runFromS: pump.sinceS,
        lowGm3: densityGm3,
        highGm3: densityGm3,
        levelFromS: atS,
      }
      continue
    }
    standing.lowGm3 = Math.min(standing.lowGm3, densityGm3)
    standing.highGm3 = Math.max(standing.highGm3, densityGm3)
    if (standing.lowGm3 >= (1 - LEVEL_SHARE) * standing.highGm3) continue
    standing.lowGm3 = densityGm3
    standing.highGm3 = densityGm3
    standing.levelFromS = atS
  }
}

/** Whether the air of the run that lasts has come to rest. */
export function hasComeToRest({ standing }: Endless, { atS }: Moment): boolean {
  return standing !== null && atS - standing.levelFromS >= LEVEL_H * HOUR_S
}

/** Hangar air that explains a run which has come to rest above `stop`, L/h; `null` where it says nothing. */
export function endlessLPerH(memory: Endless, moment: Moment): number | null {
  const { pump, settings, wetGate, floorGm3, forecast, fillFromS } = moment
  if (pump.state !== 'run' || pump.sinceS === null || wetGate.isOpen || isGivingBack(moment)) return null
  // What the beads before a bake did not bring down says nothing once fresh ones are in.
  const hours = (moment.atS - Math.max(pump.sinceS, fillFromS ?? pump.sinceS)) / HOUR_S
  if (hours < ENDLESS_H || hours * slowestPerH(moment) < ENDLESS_TIME_CONSTANTS) return null
  const densityGm3 = moment.latest.return?.densityGm3 ?? null
  const hangar = hangarGm3(moment)
  if (settings.flowLPerMin === null || densityGm3 === null || hangar === null || floorGm3 === null)
    return null
  if (memory.lastEndS === null || pump.sinceS - memory.lastEndS > LAST_END_S) return null
  if (forecast?.daysLeft === null || forecast === null || forecast.daysLeft.low < ENDLESS_LEFT_DAYS)
    return null
  const aboveGm3 = densityGm3 - Math.max(0, floorGm3.mid)
  const belowGm3 = hangar - densityGm3
  return belowGm3 > 0.2 * hangar ? (settings.flowLPerMin * 60 * Math.max(0, aboveGm3)) / belowGm3 : null
}

/** After so long in a run nothing but water in the engine holds the air that high above the limit, h. */
const SURGE_H = 2
const WET_TIMES = 1.5

/** The run that lasts is one on a wet engine: what it comes to rest at is what the engine still gives off. */
export function isOnWetEngine({ pump, atS, latest, settings }: Moment): boolean {
  if (pump.state !== 'run' || pump.sinceS === null || atS - pump.sinceS < SURGE_H * HOUR_S) return false
  return (latest.return?.humidityPct ?? 0) > WET_TIMES * settings.band.startPct
}
