import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { forgetEvidence } from '../beads/ensemble-evidence.ts'
import { exchangesPerH, rigRate } from '../trace/drying-pool.ts'
import { ingressPerH, movedGm3, takeIngress } from '../trace/ingress.ts'
import { type RunMemory, type RunPoint, runTempC } from '../trace/run.ts'
import { lnMinutesAt15, takeRunTime } from '../trace/run-time.ts'
import { takeStopPoint } from '../trace/switching.ts'
import { endEligible } from '../trace/wet-gate.ts'
import { ambientAt } from './ambient.ts'
import { canHaveEmptied } from './emptied.ts'
import { flushAir } from './fill-air.ts'
import { readFloor, takeFillFloor } from './read-floor.ts'
import { weighMembers } from './step-forecast.ts'
import type { EndedRun } from '../rules/rule.ts'
import type { FinishedRun } from './memory.ts'
import type { Cycle } from './outputs.ts'
import type { Work } from './work.ts'

const DAY_S = 86_400
const SATURATION_15 = heldSaturationGm3(15)

/** Sensor lag, s: what a cheap sensor behind its filter needs to follow. */
const SENSOR_LAG_S = 60
/** Flow assumed only for the time the box needs to be flushed, L/min, where none is stated. */
const FLUSH_L_PER_MIN = 1
/** Air is not extrapolated back over more than this much of the drying time constant. */
const BACK_MAX = 0.7

function daysSince(flightAtS: number | null, atS: number): number | null {
  return flightAtS === null ? null : (atS - flightAtS) / DAY_S
}

/** For so long after an engine was wet its films and oil give back and lengthen every run, s. */
const WET_FILMS_S = 3 * DAY_S

/** How long the engine had been dry at `atS`, s: since a flight, a wet plateau or an open loop, logged or seen. */
function dryForS({ log, gate, unhooked }: Work['memory'], atS: number): number {
  const wetAtS = Math.max(log.flightAtS ?? 0, gate.wettedAtS ?? 0, gate.driedAtS ?? 0, unhooked.lastAtS ?? 0)
  return atS - wetAtS
}

/**
 * A run of `ranS` has come down to `stop`: the beads are not used up. If it can have emptied the engine, that is dry, and what held
 * up the runs before it was its water, if it may have been.
 */
function comeDown({ memory, settings }: Work, atS: number, ranS: number): void {
  const { fill } = memory.beads
  if (fill !== null) fill.overAtG = null
  if (!canHaveEmptied(settings, ranS)) return
  endEligible(memory.gate)
  memory.lastStopS = atS
  if (fill === null || !fill.isFloorUnsure) return
  fill.isFloorUnsure = false
  if (fill.ensemble !== null) forgetEvidence(fill.ensemble, 'floor')
}

/** Ends a run at `edgeS`: reads its curve, lets the rig learn from it, and keeps what the cycle will need. */
export function finishRun(work: Work, run: RunMemory, edgeS: number): void {
  const { memory, settings } = work
  emitWaiting(work)
  const isSeen = run.startPct !== null
  const tempC = runTempC(run)
  flushAir(work)
  const floor = readFloor(work, run, tempC, !run.isOdd)
  const isOrdinary = isSeen && !run.isOdd
  // A run carries no flight's water once its films have given it back.
  const drySoFarS = dryForS(memory, edgeS)
  if (isOrdinary && floor !== null) takeFillFloor(work, floor, { atS: edgeS, tempC })
  if (isOrdinary && run.minutes !== null) {
    takeRunTime(memory.runTime, edgeS, run.minutes, tempC, drySoFarS >= WET_FILMS_S)
  }
  weighMembers(work)
  // The air that climbs before a late report of the stop is no part of the run.
  const endPct = run.isFalling || run.lowPct > 100 ? run.lastPct : run.lowPct
  if (endPct !== null && run.basis !== 'inferred') takeStopPoint(memory.switching, endPct, settings.band)
  if (endPct !== null && endPct <= settings.band.stopPct + settings.switchTolPct)
    comeDown(work, edgeS, edgeS - run.toldFromS)
  memory.finished = {
    cycle: {
      runFromS: run.fromS,
      runToS: edgeS,
      basis: run.basis,
      startPct: run.startPct,
      peakPct: run.peakPct,
      endPct,
      apparentFloorPct: floor?.floorPct ?? null,
      floorSePct: floor?.sePct ?? null,
      runTimeRatio: memory.runTime.ratio,
      runMin: (edgeS - run.fromS) / 60,
      kPerH: floor?.kPerH ?? null,
      waterG: settings.flowLPerMin === null ? null : run.waterG,
      energyWh: run.energyWh > 0 ? run.energyWh : null,
      tempC: run.tempCount > 0 ? tempC : null,
      daysSinceFlight: daysSince(memory.log.flightAtS, run.fromS),
      afterFlight: run.afterFlight,
    },
    endGm3: endPct === run.lastPct ? run.lastGm3 : run.lowGm3,
    endSaturationGm3: heldSaturationGm3(tempC),
    isBroken: !isSeen,
    ambientSumGm3: 0,
    ambientCount: 0,
  }
  memory.lastRunAtS = edgeS
  work.ended.push(endedOf(work, run, { cycle: memory.finished.cycle, floor, isWhole: isOrdinary, drySoFarS }))
}

type Read = {
  readonly cycle: FinishedRun['cycle']
  readonly floor: { readonly floorPct: number; readonly sePct: number } | null
  readonly isWhole: boolean
  readonly drySoFarS: number
}

/** The run as the rules see it. */
function endedOf({ memory }: Work, run: RunMemory, { cycle, floor, isWhole, drySoFarS }: Read): EndedRun {
  const { minutes } = run
  return {
    fromS: cycle.runFromS,
    toS: cycle.runToS,
    startPct: cycle.startPct,
    peakPct: cycle.peakPct,
    topPct: run.topPct,
    engineGm3: run.engineGm3,
    inletGm3: run.inletM3 > 0 ? run.inletG / run.inletM3 : null,
    endPct: cycle.endPct,
    tempC: cycle.tempC,
    daysSinceFlight: cycle.daysSinceFlight,
    afterFlight: cycle.afterFlight,
    isWhole,
    lnFallMin: minutes === null ? null : lnMinutesAt15(memory.runTime, minutes, runTempC(run)),
    floor: floor === null ? null : { pct: floor.floorPct, sePct: floor.sePct },
    dryDays: drySoFarS / DAY_S,
  }
}

/** A new run starts: the cycle before it is complete but for the engine's air, which the next minutes will show. */
export function waitForAir(work: Work, isSeen: boolean): void {
  const { memory } = work
  const { finished } = memory
  memory.finished = null
  if (finished === null || finished.isBroken || !isSeen) return
  const startS = memory.pump.sinceS ?? work.gridS
  const cycle: Cycle = {
    atS: work.gridS,
    ...finished.cycle,
    restMin: (startS - finished.cycle.runToS) / 60,
    ingressPerH: null,
  }
  memory.waiting = {
    cycle,
    endGm3: finished.endGm3,
    endSaturationGm3: finished.endSaturationGm3,
    ambientGm3: finished.ambientCount > 0 ? finished.ambientSumGm3 / finished.ambientCount : null,
  }
}

/** The engine's own air, once the box has been flushed: the reading extrapolated back to the start of the run. */
export function takeEngineAir(work: Work, run: RunMemory, point: RunPoint): void {
  const { memory, settings } = work
  const flowLPerH = (settings.flowLPerMin ?? FLUSH_L_PER_MIN) * 60
  const flushS =
    ((settings.sensorSits === 'engine' ? 0 : 3 * settings.boxL) / flowLPerH) * 3600 + SENSOR_LAG_S
  const sinceS = point.atS - run.fromS
  if (sinceS < flushS) return
  memory.engineAir = {
    atS: point.atS,
    humidityPct: point.humidityPct,
    densityGm3: point.densityGm3,
    tempC: memory.places.return.heldTempC === null ? null : point.tempC,
  }
  if (run.isEngineKnown) return
  run.isEngineKnown = true
  const floorGm3 = Math.min(point.densityGm3, (memory.floor.meanPct / 100) * heldSaturationGm3(point.tempC))
  const back = rigRate(memory.drying, exchangesPerH(settings)).mid * point.scale * (sinceS / 3600)
  run.engineGm3 = back > BACK_MAX ? null : floorGm3 + (point.densityGm3 - floorGm3) * Math.exp(back)
  closeWaiting(work, run.engineGm3, point)
}

function closeWaiting(work: Work, engineGm3: number | null, point: RunPoint | null): void {
  const { memory, settings } = work
  const { waiting } = memory
  if (waiting === null) return
  memory.waiting = null
  let perH: number | null = null
  if (engineGm3 !== null && point !== null) {
    const sorption = { ratio: 1, saturation15Gm3: SATURATION_15 }
    const laterGm3 = movedGm3(
      engineGm3,
      { saturationGm3: heldSaturationGm3(point.tempC) },
      { saturationGm3: waiting.endSaturationGm3 },
      sorption,
    )
    perH = ingressPerH({
      ambientGm3: waiting.ambientGm3 ?? ambientAt(memory, settings, point.atS).densityGm3,
      endGm3: waiting.endGm3,
      laterGm3,
      hours: waiting.cycle.restMin / 60,
    })
  }
  const cycle: Cycle = { ...waiting.cycle, ingressPerH: perH }
  if (perH !== null) takeIngress(memory.ingress, cycle.atS, perH, cycle.daysSinceFlight)
  memory.totals.cycles += 1
  work.closed.push(cycle)
  work.cycles.push(cycle)
}

/** Writes out a cycle whose engine air did not show in time. */
export function emitWaiting(work: Work): void {
  closeWaiting(work, null, null)
}
