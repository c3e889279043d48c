import type { Sample } from '../rules/rule.ts'
import { correctPct } from '../sensor/correction.ts'
import { judgeSaltCheck, SALT_STEADY_S, type SensorPoint } from '../sensor/salt-check.ts'
import { weighByExit } from '../beads/ensemble-update.ts'
import { shiftFloors } from '../trace/floor-trend.ts'
import { shiftLine } from '../stats/line-fit.ts'
import { sigmaPct, stepPct } from '../trace/noise.ts'
import { saltNamed } from '../sensor/salt-points.ts'
import { type FloorCheck, type LogMemory, type SaltCheck, startFloorCheck } from './log-memory.ts'
import { sensorSdPct, takePoint } from './sensor-memory.ts'
import { wetShare } from './wet-engine.ts'
import type { Work } from './work.ts'

/** The end of a floor check that is averaged, s. */
const FLOOR_END_S = 20 * 60
/** Up to this probability of a wet engine a floor check speaks of the beads by itself. */
const WET_SHARE_MAX = 0.05
/** A floor check that moved air for less than this says nothing, s. */
const FLOOR_ON_MIN_S = 2 * 3600
/** Readings of a salt check's end are thinned to this spacing, s, so that they stay few. */
const SALT_THIN_S = 180

/** A return reading while a check of the logbook goes on. */
export function takeCheckSample(work: Work, sample: Sample): void {
  const { log, places } = work.memory
  const humidityPct = sample.humidityPct
  if (humidityPct === null) return
  const { saltCheck, floorCheck, loopTest } = log
  if (saltCheck !== null) takeSalt(saltCheck, sample.atS, humidityPct, sample.tempC)
  if (loopTest !== null && sample.atS <= loopTest.untilS) loopTest.lastPct = sample.correctedPct
  if (floorCheck === null || sample.atS > floorCheck.untilS || work.memory.pump.state !== 'run') return
  // What the pump did in a gap nobody knows: it is known to run since it was next seen to.
  const knownS = Math.max(places.return.latest?.atS ?? sample.atS, work.memory.pump.sinceS ?? sample.atS)
  floorCheck.onS += Math.max(0, sample.atS - Math.max(knownS, floorCheck.fromS))
  if (sample.atS < floorCheck.untilS - FLOOR_END_S) return
  const correctedPct = sample.correctedPct ?? humidityPct
  floorCheck.count += 1
  floorCheck.sumPct += correctedPct
  floorCheck.squares += correctedPct * correctedPct
}

function takeSalt(check: SaltCheck, atS: number, humidityPct: number, tempC: number | null): void {
  if (atS <= check.untilS - SALT_STEADY_S || atS > check.untilS) return
  const last = check.last.at(-1)
  if (last === undefined || atS - last.atS >= SALT_THIN_S) check.last.push({ atS, humidityPct, tempC })
}

function endSaltCheck(work: Work, check: SaltCheck): void {
  const { memory } = work
  memory.log.saltCheck = null
  memory.log.offMin = (check.untilS - check.fromS) / 60
  memory.log.offEndedAtS = check.untilS
  // A pump that ran on meanwhile moved no air past this sensor: for the rules its run begins now.
  if (memory.pump.state === 'run') memory.pump.sinceS = check.untilS
  const temps = check.last.flatMap(({ tempC }) => (tempC === null ? [] : [tempC]))
  const shown = check.last.map(({ humidityPct }) => humidityPct)
  const tempC = check.tempC ?? mean(temps)
  const shownPct = check.shownPct ?? mean(shown)
  const salt = saltNamed(check.salt)
  if (salt === null || tempC === null || shownPct === null) {
    memory.sensor.refusal = salt === null ? 'unknown_salt' : 'nothing_shown'
    return
  }
  const { fromS, untilS, last } = check
  const result = judgeSaltCheck({
    salt,
    fromS,
    untilS,
    shownPct,
    tempC,
    stepPct: stepPct(memory.noise),
    last,
  })
  if (result.ok) correctSensor(work, result.point)
  else memory.sensor.refusal = result.reason
}

/** A new correction moves the floors that were read with the old one: the difference is the sensor's, not the beads'. */
function correctSensor({ memory, settings }: Work, point: SensorPoint): void {
  const { sensor, floor } = memory
  const before = correctPct(sensor.correction, settings.band.stopPct)
  takePoint(sensor, point)
  const shift = correctPct(sensor.correction, settings.band.stopPct) - before
  floor.meanPct += shift
  if (memory.lastFloorCheck !== null) memory.lastFloorCheck.pct += shift
  const { fill } = memory.beads
  if (fill === null) return
  fill.freshFloorPct += shift
  shiftFloors(fill.floors, shift)
  shiftLine(fill.floorOnAmbient, shift)
}

function mean(values: readonly number[]): number | null {
  if (values.length === 0) return null
  let sum = 0
  for (const value of values) sum += value
  return sum / values.length
}

function endFloorCheck(work: Work, check: FloorCheck): void {
  const { memory } = work
  memory.log.floorCheck = null
  if (check.count === 0 || check.onS < FLOOR_ON_MIN_S) return
  const mid = check.sumPct / check.count
  const variance = Math.max(0, check.squares / check.count - mid * mid)
  const se = Math.hypot(sigmaPct(memory.noise) / Math.sqrt(check.count), Math.sqrt(variance))
  const wet = wetShare(memory, memory.run?.fromS ?? check.fromS, check.untilS)
  // What a wet engine lifts is no floor of the beads: it only weighs with the rest.
  if (wet <= WET_SHARE_MAX) {
    work.floorCheckPct = { mid, se }
    memory.lastFloorCheck = { atS: check.untilS, pct: mid }
  }
  const { fill } = memory.beads
  if (fill === null || fill.ensemble === null) return
  fill.isFloorUnsure = wet > 0
  weighByExit(fill.ensemble, 'floor', {
    pct: mid,
    sePct: se,
    sensorSdPct: sensorSdPct(memory.sensor, mid, check.untilS),
    tempC: memory.places.return.latest?.tempC ?? 15,
    wetShare: wet,
  })
}

/** Straight from the beads to the sensor: what it shows is the exit air, whatever leaks in the loop. */
function endLoopTest(work: Work, { untilS: atS, lastPct }: NonNullable<LogMemory['loopTest']>): void {
  const { memory } = work
  memory.log.loopTest = null
  if (lastPct === null) return
  memory.lastLoopTest = { atS, pct: lastPct }
  const { fill } = memory.beads
  if (fill === null || fill.ensemble === null) return
  weighByExit(fill.ensemble, 'loop-test', {
    pct: lastPct,
    sePct: sigmaPct(memory.noise),
    sensorSdPct: sensorSdPct(memory.sensor, lastPct, atS),
    tempC: memory.places.return.latest?.tempC ?? 15,
  })
  memory.beads.forecastDay = 0
}

/**
 * Ends the checks and tests whose time is over at `atS` (Unix s): at every grid time, and before an entry is taken, which may
 * change the sensor or the beads that they were of.
 */
export function endChecks(work: Work, atS: number): void {
  const { log } = work.memory
  if (log.saltCheck !== null && atS >= log.saltCheck.untilS) endSaltCheck(work, log.saltCheck)
  if (log.floorCheck !== null && atS >= log.floorCheck.untilS) endFloorCheck(work, log.floorCheck)
  if (log.loopTest !== null && atS >= log.loopTest.untilS) endLoopTest(work, log.loopTest)
}

/** Another pot: the check before it was over, whatever end had been entered for it. */
export function cutSaltCheck(work: Work, atS: number): void {
  const { saltCheck } = work.memory.log
  if (saltCheck !== null) endSaltCheck(work, { ...saltCheck, untilS: atS })
}

/** Other beads: what was seen of the ones before is no part of a floor check or loop test that goes on. */
export function restartBeadChecks({ memory }: Work, atS: number): void {
  const { floorCheck, loopTest } = memory.log
  if (floorCheck !== null) Object.assign(floorCheck, startFloorCheck(atS, floorCheck.untilS))
  if (loopTest !== null) loopTest.lastPct = null
}

/** Another sensor: nor is what the one before showed, in a salt pot or out of it. */
export function restartChecks(work: Work, atS: number): void {
  const { saltCheck } = work.memory.log
  if (saltCheck !== null) Object.assign(saltCheck, { fromS: atS, shownPct: null, last: [] })
  restartBeadChecks(work, atS)
}
