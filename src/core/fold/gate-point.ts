import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { Sample } from '../rules/rule.ts'
import { sigmaPct } from '../trace/noise.ts'
import { type RunMemory, type RunPoint, isNewValue } from '../trace/run.ts'
import { WET_FLIGHT_G } from '../trace/water-budget.ts'
import type { GatePoint } from '../trace/gate-air.ts'
import { ambientAt, hangarTempC, readAsPct } from './ambient.ts'
import type { Work } from './work.ts'

/**
 * How long it takes to pump a wet flight's water, or the most this engine has brought home, s: as air saturated at `tempC`, or as
 * the plateau's own, for drops and what is left of a pool clear but a part of what the pump moves.
 */
function expectedS({ memory, settings }: Work, tempC: number, densityGm3: number): number | null {
  const { flowLPerMin } = settings
  const waterG = Math.max(WET_FLIGHT_G, memory.gate.largestG)
  const carriesGm3 = Math.min(heldSaturationGm3(tempC), densityGm3)
  return flowLPerMin === null || carriesGm3 <= 0 ? null : (waterG * 60_000) / (flowLPerMin * carriesGm3)
}

/** The air's density over that of air saturated at the metal; `null` where a temperature is missing. */
export function evaporatingShare(work: Work, densityGm3: number | null): number | null {
  const metalC = work.memory.metal.tempC
  return metalC === null || densityGm3 === null ? null : densityGm3 / heldSaturationGm3(metalC)
}

/** A reading as the wet gate sees it. */
export function gatePoint(work: Work, run: RunMemory, sample: Sample, point: RunPoint): GatePoint {
  const { memory, settings } = work
  const { humidityPct, densityGm3, tempC } = point
  const ambient = ambientAt(memory, settings, sample.atS)
  // Where nobody has said so: a plateau that dried late and without a rise tells.
  const { sensorSits } = settings
  const isInEngine = sensorSits === 'engine' || (sensorSits === null && memory.gate.outlastedS !== null)
  // A sensor in the engine has the metal's temperature: what it reads is the share. Where that is a guess, either may be.
  const shareInBox = evaporatingShare(work, densityGm3)
  const shareInEngine = sensorSits === null ? Math.max(humidityPct / 100, shareInBox ?? 0) : humidityPct / 100
  const share = isInEngine ? shareInEngine : shareInBox
  const isWarmed = !isInEngine && sample.tempC !== null && memory.restTempC !== null
  return {
    atS: sample.atS,
    humidityPct,
    isNew: isNewValue(run, humidityPct),
    unwarmedPct: isWarmed ? (100 * densityGm3) / heldSaturationGm3(memory.restTempC ?? tempC) : humidityPct,
    startPct: settings.band.startPct,
    sigmaPct: sigmaPct(memory.noise),
    movedG: settings.flowLPerMin === null ? null : (work.movedG ?? 0),
    expectedS: expectedS(work, memory.metal.tempC ?? tempC, densityGm3),
    evaporatingShare: sample.tempC === null ? null : share,
    isInEngine,
    isSaidInEngine: sensorSits === 'engine',
    isInBox: sensorSits === 'box',
    isMetalMeasured: ambient.tempC !== null,
    hangarPct: readAsPct(ambient, hangarTempC(memory, settings, sample.atS).tempC, sample.tempC),
    isHangarMeasured: ambient.isMeasured,
    isPumpInferred: run.basis === 'inferred',
    isUnhooked: memory.unhooked.sinceS !== null,
    areFlightsLogged: memory.log.flightAtS !== null,
  }
}
