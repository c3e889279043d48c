import { isLow } from '../trace/pump.ts'
import { beginCameDown, type CameDown, followCameDown, startCameDown } from './came-down.ts'
import { waterWeight } from './drying.ts'
import type { Reference } from './drying-drop.ts'
import type { Moment, Sample } from './rule.ts'

const DAY_S = 86_400
/** The wettest reading of a run's first hour is what it has to come down from: by then the engine's air has arrived, s. */
const REFERENCE_WITHIN_S = 3600
/** A small air pump in a small box, K. */
const HEAT_MAX_K = 8

/** Air of a run as it was read, % RH at degC. */
export type Air = { readonly atS: number; readonly pct: number; readonly tempC: number | null }

/** The air of the last day of a long run is kept, one reading in two hours, s. */
const PAST_SPACING_S = 2 * 3600
const PAST_MAX = 13

/**
 * Air that comes up to twice its lowest, in vapour density and in RH alike, while its pump runs, is not held down any more: what dries
 * out gives off less and less, a warming engine raises the one, a cooling one the other.
 */
const CAME_BACK = 2

/** The air of the last rest, % RH and, with a temperature, g/m3. */
export type RestAir = { readonly atS: number; readonly pct: number; readonly gm3: number | null }

/** A run while it lasts: what its air has to come down from, and how far it has come. */
export type NoDropMemory = {
  runFromS: number | null
  refAtS: number | null
  refPct: number
  refTempC: number | null
  /** Temperature at the start of the run, degC, and the most it rose within the first hour, K: the pump's heat. */
  startC: number | null
  heatK: number
  /** First reading of the run, % RH, and the highest within its first hour: their difference is the surge. */
  firstPct: number | null
  topPct: number
  /** The wet gate was open in this run. */
  wasWet: boolean
  /** Its air has been in the lower part of the band. */
  wasLow: boolean
  /** Its air has come down by more than it can without being moved; `wasDown`: by half, or as the pump started, whatever became of it since. */
  hasMoved: boolean
  wasDown: boolean
  /** Outlives the run. */
  restAir: RestAir | null
  /** The wettest air since the reference. */
  peak: Air | null
  /** The driest of what is one drying, the first hour of a run left out. */
  lowest: { gm3: number; pct: number } | null
  /** The air of its last day, oldest first, at most `PAST_MAX`. */
  past: Air[]
  /** True while every reading of the run was the same. */
  isFlat: boolean
  /** Blocks in a row that show no drop. */
  hits: number
  /** The block that is being filled: since when, its readings, the sum of their drops and of the most they can be. */
  blockFromS: number
  blockCount: number
  blockSum: number
  blockMostSum: number
  /** Outlives the run: the next may go on with its drying. */
  down: CameDown
  /** While an alert is open: when the air last stood where it was told, s. */
  stoodAtS: number | null
  /** How long after a flight the air stood, at the longest, that then came down by itself, s; `null`: none did. */
  outlastedS: number | null
  powerSinceS: number | null
  normalSinceS: number | null
  /** The wettest air of this run's plateau, until an hour after it. */
  plateauTop: Air | null
  /** The run in which an alert ended because the air got drier, s. */
  provenRunS: number | null
  /** What was known of the run that was paused; it may go on. */
  paused: RunSoFar | null
}

type RunSoFar = Pick<NoDropMemory, 'runFromS' | 'wasWet' | 'hasMoved' | 'wasDown'>

export function start(): NoDropMemory {
  return {
    runFromS: null,
    refAtS: null,
    refPct: 0,
    refTempC: null,
    startC: null,
    heatK: 0,
    firstPct: null,
    topPct: 0,
    wasWet: false,
    wasLow: false,
    hasMoved: false,
    wasDown: false,
    restAir: null,
    peak: null,
    lowest: null,
    past: [],
    isFlat: true,
    hits: 0,
    blockFromS: 0,
    blockCount: 0,
    blockSum: 0,
    blockMostSum: 0,
    down: startCameDown(),
    stoodAtS: null,
    outlastedS: null,
    powerSinceS: null,
    normalSinceS: null,
    plateauTop: null,
    provenRunS: null,
    paused: null,
  }
}

/** The run is over. What its alert waits for, what the next may go on with, and what the rig has taught, is not. */
export function forget(memory: NoDropMemory): void {
  const { runFromS, down, lowest, past, stoodAtS, outlastedS, restAir, provenRunS, paused } = memory
  if (runFromS === null) return
  const kept = { down, lowest, past, stoodAtS, outlastedS, restAir, provenRunS, paused }
  Object.assign(memory, start(), kept)
}

/** A run begins, at `runFromS`; soon after the last it goes on with that one's drying. */
export function begin(memory: NoDropMemory, runFromS: number | null): void {
  forget(memory)
  const { paused } = memory
  if (paused !== null && paused.runFromS === runFromS) Object.assign(memory, paused)
  memory.paused = null
  memory.runFromS = runFromS
  beginCameDown(memory.down, runFromS)
  if (memory.down.hasDropped) return
  memory.lowest = null
  memory.past = []
}

/** Nobody knows what happens meanwhile: an alert that ends after it does not end by itself. */
export function pause(memory: NoDropMemory): void {
  const { runFromS, wasWet, hasMoved, wasDown } = memory
  if (runFromS !== null) memory.paused = { runFromS, wasWet, hasMoved, wasDown }
  forget(memory)
  memory.stoodAtS = null
  memory.restAir = null
}

/** What may be judged begins later in the run: of what was before only a drop is kept. */
export function suspend(memory: NoDropMemory, moment: Moment): void {
  const { runFromS, down, outlastedS, provenRunS } = memory
  Object.assign(memory, start(), { runFromS, down, outlastedS, provenRunS })
  for (const sample of moment.fresh) {
    if (sample.place === 'return' && sample.humidityPct !== null)
      followCameDown(memory.down, sample, sample.humidityPct)
  }
}

/** What the run has to come down from, from now on. */
export function refer(memory: NoDropMemory, { atS, pct, tempC }: Air): void {
  memory.refAtS = atS
  memory.refPct = pct
  memory.refTempC = tempC
  memory.peak = null
  memory.hits = 0
  memory.blockCount = 0
}

/** Air of the run from a day ago, within two hours; `null` if it was not yet there. */
export function dayAgo({ past }: NoDropMemory, atS: number): Air | null {
  const oldest = past[0]
  const isDayOld = oldest !== undefined && atS - oldest.atS >= DAY_S - PAST_SPACING_S
  return isDayOld ? oldest : null
}

function keepPast({ past }: NoDropMemory, now: Air): void {
  if (now.atS - (past.at(-1)?.atS ?? Number.NEGATIVE_INFINITY) < PAST_SPACING_S) return
  past.push(now)
  while (past.length > PAST_MAX || now.atS - (past[0]?.atS ?? now.atS) > DAY_S + PAST_SPACING_S) past.shift()
}

type Wetness = Omit<Air, 'atS'>

const isWetter = (now: Wetness, than: Wetness) =>
  now.pct * waterWeight(now.tempC, 0) > than.pct * waterWeight(than.tempC, 0)

/** Whether its air has come back up, over `startPct`, after it had come down: then its drop is no proof of the pump any more. */
function hasComeBack(memory: NoDropMemory, sample: Sample, humidityPct: number, startPct: number): boolean {
  const { densityGm3 } = sample
  if (densityGm3 === null || !(memory.hasMoved || memory.down.hasDropped)) return false
  const { gm3, pct } = memory.lowest ?? { gm3: densityGm3, pct: humidityPct }
  memory.lowest = { gm3: Math.min(gm3, densityGm3), pct: Math.min(pct, humidityPct) }
  return humidityPct > startPct && densityGm3 > CAME_BACK * gm3 && humidityPct > CAME_BACK * pct
}

/** A hot engine warms the box too, and cools: beads and films are then no warmer than the air at the reference. */
export function referenceOf({ refPct, refTempC, startC, heatK }: NoDropMemory): Reference {
  const bedC = startC === null || refTempC === null ? startC : Math.min(startC, refTempC)
  return { pct: refPct, tempC: refTempC, startC: bedC, heatK }
}

/** Keeps the reference: the wettest air of the first hour, anew as long as evaporation may explain a plateau. */
export function follow(memory: NoDropMemory, moment: Moment, sample: Sample, humidityPct: number): void {
  const runFromS = memory.runFromS ?? sample.atS
  if (sample.atS < runFromS) return
  const isEarly = sample.atS - runFromS <= REFERENCE_WITHIN_S
  memory.firstPct ??= humidityPct
  memory.startC ??= sample.tempC
  if (isEarly && sample.tempC !== null) {
    const risenK = sample.tempC - (memory.startC ?? sample.tempC)
    memory.heatK = Math.min(HEAT_MAX_K, Math.max(memory.heatK, risenK))
  }
  if (humidityPct !== memory.firstPct) memory.isFlat = false
  if (isEarly && humidityPct > memory.topPct) memory.topPct = humidityPct
  followCameDown(memory.down, sample, humidityPct)
  if (memory.down.hasDropped) memory.wasDown = true
  if (isLow(humidityPct, moment.settings.band)) memory.wasLow = true
  const now = { atS: sample.atS, pct: humidityPct, tempC: sample.tempC }
  keepPast(memory, now)
  // The first reading after the plateau is the next reference.
  if (moment.wetGate.isOpen) {
    memory.refAtS = null
    memory.wasWet = true
    if (memory.plateauTop === null || isWetter(now, memory.plateauTop)) memory.plateauTop = now
    return
  }
  const ref = { pct: memory.refPct, tempC: memory.refTempC }
  if (memory.refAtS === null || (isEarly && isWetter(now, ref))) refer(memory, now)
  else if (isWetter(now, memory.peak ?? ref)) memory.peak = now
  if (isEarly || !hasComeBack(memory, sample, humidityPct, moment.switchStartPct)) return
  memory.down = startCameDown()
  followCameDown(memory.down, sample, humidityPct)
  memory.hasMoved = false
  memory.lowest = null
  refer(memory, now)
}
