import type { Sample } from '../rules/rule.ts'
import { type GatePoint, isEngineAir } from '../trace/gate-air.ts'
import { sigmaPct } from '../trace/noise.ts'
import type { RunMemory } from '../trace/run.ts'
import { ambientAt } from './ambient.ts'
import { evaporatingShare } from './gate-point.ts'
import { endOff } from './log-memory.ts'
import { isDryAgain, isPumpsDrop, isStartedByHand } from './started-by-hand.ts'
import type { Work } from './work.ts'

/**
 * Air this wet and this much wetter than the hangar comes from an engine, % RH at the metal: in a box that the pump
 * warms by some degrees even saturated engine air reads 60 %.
 */
const ENGINE_AIR_PCT = 80
const ENGINE_OVER_AMBIENT_PCT = 10
/** A box that lies open follows its hangar within the hour: air that stays wetter than that is in an engine, s. */
const WETTER_FOR_S = 3 * 3600

/** Air that only an engine has, moved past the sensor: it leapt as the pump ran, and is wetter than any hangar's. */
function isMovedEngineAir(work: Work, sample: Sample, humidityPct: number): boolean {
  const { gate } = work.memory
  if (!gate.isOpen || !gate.isProven) return false
  const ambientPct = ambientAt(work.memory, work.settings, sample.atS).humidityPct
  const share = sample.tempC === null ? null : evaporatingShare(work, sample.densityGm3)
  return (
    (share === null ? humidityPct : 100 * share) >=
    Math.max(ENGINE_AIR_PCT, Math.min(95, ambientPct + ENGINE_OVER_AMBIENT_PCT))
  )
}

/**
 * Who starts the pump on joined hoses and hooks up later has the engine's air leap in the middle of a run, too late for its
 * surge. Where an outlet or a meter shows the run, half of that water gone and the air in the band again is a drop as well.
 */
const LATE_LEFT_SHARE = 0.5

/** The surge of a hot engine may begin as it lands, and its water comes down after that. */
function isDropped(work: Work, run: RunMemory, sample: Sample, humidityPct: number): boolean {
  const { densityGm3 } = sample
  const { unansweredFlightAtS: landedS } = work.memory.log
  if (densityGm3 === null || landedS === null) return false
  const { band } = work.settings
  const leastPct = Math.max(2, 5 * sigmaPct(work.memory.noise))
  const isOfSurge =
    run.fromS >= landedS &&
    isPumpsDrop(run, humidityPct, band) &&
    (run.peakPct ?? 0) - humidityPct >= leastPct &&
    densityGm3 < 0.75 * run.peakGm3
  const isOfHookUp =
    run.basis !== 'inferred' &&
    run.topAtS >= landedS &&
    humidityPct <= band.startPct &&
    densityGm3 <= LATE_LEFT_SHARE * run.topGm3
  return isOfSurge || isOfHookUp
}

/**
 * A run with a drop, air that only an engine has, or a hand at the pump says that the rig is back after a flight. While the
 * logbook says off nothing but an engine's air does, and a run that dries one (see `watchOff`).
 */
export function answerFlight(work: Work, run: RunMemory, sample: Sample, point: GatePoint): void {
  const { log } = work.memory
  const { humidityPct } = point
  const landedS = log.unansweredFlightAtS
  if (landedS === null || sample.atS <= landedS || sample.densityGm3 === null) return
  const isEngine = isMovedEngineAir(work, sample, humidityPct)
  if (log.offSinceS !== null) {
    if (isEngine && isEngineAir(point)) endOff(log, sample.atS)
    return
  }
  const { band } = work.settings
  const isDrop = isDropped(work, run, sample, humidityPct)
  const isWetter = point.isHangarMeasured && isEngineAir(point)
  log.wetterFromS = isWetter ? (log.wetterFromS ?? sample.atS) : null
  const isWetForLong = log.wetterFromS !== null && sample.atS - log.wetterFromS >= WETTER_FOR_S
  const isByHand = isStartedByHand(run, { atS: sample.atS, landedS, log, band })
  const isDry = isDryAgain(run, { atS: sample.atS, landedS, humidityPct, band })
  if (isDrop || isDry || isEngine || isWetForLong || isByHand) endOff(log, sample.atS)
}
