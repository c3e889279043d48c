import { takeUptake } from '../beads/uptake.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { Sample } from '../rules/rule.ts'
import { carriedAtC } from './ambient.ts'
import { takeAir } from './fill-air.ts'
import { isSensorElsewhere } from './log-memory.ts'
import type { Work } from './work.ts'

type Air = { readonly atS: number; readonly densityGm3: number }

/**
 * Water moved since the return reading before, if the pump ran: into the run, the ledger of the beads and the pace.
 * Comes before the pump's state is decided, so that the interval belongs to the state it was spent in; the half interval
 * lost at a start is the one too much at a stop. Whatever the logbook says the pump's air goes through the beads, but
 * not while the sensor sits in a salt pot or at the beads' exit.
 */
export function takeLedger(work: Work, sample: Sample): void {
  const { memory } = work
  const before = memory.air
  work.movedG = null
  if (sample.densityGm3 === null) return
  if (isSensorElsewhere(memory.log, sample.atS)) {
    memory.air = null
    return
  }
  memory.air = { atS: sample.atS, densityGm3: sample.densityGm3 }
  if (before === null || memory.pump.state !== 'run') return
  // The air climbs again near `stop`: the outlet is off and its report is late.
  const { run } = memory
  const nearStopPct =
    work.settings.band.stopPct + 0.3 * (work.settings.band.startPct - work.settings.band.stopPct)
  if (run !== null && !run.isFalling && run.lowPct <= nearStopPct) return
  const isGuess = memory.pump.basis === 'inferred'
  if (isGuess && memory.log.offSinceS !== null) return
  if (isGuess && isUnsure(work, sample)) holdAir(work, before, sample)
  else {
    releaseAir(work)
    moveAir(work, before, sample)
  }
}

/** Wet air this long after a flight or a hook-up is the engine's, s. */
const WET_AFTER_S = 48 * 3600

/**
 * Without any report from the pump, wet air out of nothing is either an engine that flew or a rig that hangs in the
 * hangar with its pump off. What follows tells: the air comes down, or a flight is logged.
 */
function isUnsure(work: Work, sample: Sample): boolean {
  const { log } = work.memory
  if ((sample.humidityPct ?? 0) <= 1.5 * work.settings.band.startPct) return false
  const wettedS = Math.max(log.flightAtS ?? 0, log.onAtS ?? 0)
  return sample.atS - wettedS > WET_AFTER_S
}

function holdAir(work: Work, before: Air, sample: Sample): void {
  const { beads } = work.memory
  const { flowLPerMin } = work.settings
  if (flowLPerMin === null || sample.densityGm3 === null) return
  const litres = (flowLPerMin * (sample.atS - before.atS)) / 60
  const tempC = airTempC(work, sample)
  const inGm3 = inletGm3(before.densityGm3, sample.densityGm3, tempC)
  beads.held ??= { litres: 0, sum: 0, tempC: 0 }
  beads.held.litres += litres
  beads.held.sum += litres * inGm3
  beads.held.tempC = tempC
  countInlet(work, litres, inGm3)
  // If it is an engine's water, so much of it is gone: how long a plateau is believed does not wait for the ledger.
  work.movedG = carriedG(work, sample, litres, inGm3)
}

/** The run's own air, whether or not the ledger waits for what it was. */
function countInlet({ memory: { run } }: Work, volumeL: number, inGm3: number): void {
  if (run === null) return
  run.inletM3 += volumeL / 1000
  run.inletG += (volumeL / 1000) * inGm3
}

/** Water that so much air took from the engine, g. */
function carriedG(work: Work, sample: Sample, volumeL: number, inGm3: number): number {
  return (volumeL / 1000) * Math.max(0, inGm3 - exitGm3(work, sample))
}

/** The air came down: what was held went through the beads after all. */
function releaseAir(work: Work): void {
  const { beads } = work.memory
  if (beads.held === null) return
  const { litres, sum, tempC } = beads.held
  beads.held = null
  if (litres > 0) takeAir(work, { volumeL: litres, inGm3: sum / litres, tempC })
}

/** A flight or a hook-up is logged: until then the rig was not on the engine. */
export function dropHeldAir(work: Work): void {
  work.memory.beads.held = null
}

/** Counts the air between two return readings with the pump on. */
export function moveAir(work: Work, before: Air, sample: Sample): void {
  const { memory, settings } = work
  const hours = (sample.atS - before.atS) / 3600
  // Power holds until the next report: many hubs post the meter apart from the sensor.
  if (memory.run !== null) memory.run.energyWh += (memory.pump.powerW ?? 0) * hours
  if (settings.flowLPerMin === null || sample.densityGm3 === null) return
  const volumeL = settings.flowLPerMin * 60 * hours
  const tempC = airTempC(work, sample)
  const inGm3 = inletGm3(before.densityGm3, sample.densityGm3, tempC)
  takeAir(work, { volumeL, inGm3, tempC })
  const grams = carriedG(work, sample, volumeL, inGm3)
  if (memory.run !== null) memory.run.waterG += grams
  countInlet(work, volumeL, inGm3)
  work.movedG = grams
  // Without a ledger the pace is learned all the same: the next bake then starts with it.
  const { fill, uptake } = memory.beads
  if (fill?.ensemble === null) takeUptake(uptake, grams, sample.correctedPct ?? 0)
}

function airTempC(work: Work, sample: Sample): number {
  return carriedAtC(work.memory, work.settings, sample)
}

/** Air between two readings as it reaches the beads, g/m3: what a hot engine adds condenses on the way, in hoses at `tempC`. */
function inletGm3(beforeGm3: number, nowGm3: number, tempC: number): number {
  const mostGm3 = heldSaturationGm3(tempC)
  return (Math.min(beforeGm3, mostGm3) + Math.min(nowGm3, mostGm3)) / 2
}

/** Supply readings stand for the exit this long, s. */
const SUPPLY_HELD_S = 1800

/** Air leaving the beads now, g/m3: measured, else the ensemble's, else half the rig's floor. */
function exitGm3(work: Work, sample: Sample): number {
  const supply = work.memory.places.supply.latest
  if (supply !== null && supply.densityGm3 !== null && sample.atS - supply.atS <= SUPPLY_HELD_S)
    return supply.densityGm3
  const { fill } = work.memory.beads
  if (fill !== null && fill.exitGm3 !== null) return fill.exitGm3
  // The apparent floor is the exit's upper end; half of it is nearer than none.
  const { floor } = work.memory
  return floor.runs === 0
    ? 0
    : (0.5 * Math.max(0, floor.meanPct) * heldSaturationGm3(airTempC(work, sample))) / 100
}
