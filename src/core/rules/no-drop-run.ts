import { isLow } from '../trace/pump.ts'
import { type CameDown, followCameDown, startCameDown } from './came-down.ts'
import { waterWeight } from './drying.ts'
import type { Reference } from './drying-drop.ts'
import type { Moment, Sample } from './rule.ts'

/** The wettest reading of a run's first hour is what it has to come down from: by then the engine's air has arrived, s. */
const REFERENCE_WITHIN_S = 3600
/** A small air pump in a small box, K. */
const HEAT_MAX_K = 8

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
  /** Its air has come down by more than it can without being moved. */
  hasMoved: boolean
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
}

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
  }
}

/** The run is over. What its alert waits for, and what the rig has taught, is not. */
export function forget(memory: NoDropMemory): void {
  const { runFromS, down, stoodAtS, outlastedS } = memory
  if (runFromS !== null) Object.assign(memory, start(), { down, stoodAtS, outlastedS })
}

/** Nobody knows what happens meanwhile: an alert that ends after it does not end by itself. */
export function pause(memory: NoDropMemory): void {
  forget(memory)
  memory.stoodAtS = null
}

/** What may be judged begins later in the run: of what was before only a drop is kept. */
export function suspend(memory: NoDropMemory, moment: Moment): void {
  const { runFromS, down, outlastedS } = memory
  Object.assign(memory, start(), { runFromS, down, outlastedS })
  for (const sample of moment.fresh) {
    if (sample.place === 'return' && sample.humidityPct !== null)
      followCameDown(memory.down, sample, sample.humidityPct)
  }
}

export function refer(memory: NoDropMemory, sample: Sample, humidityPct: number): void {
  memory.refAtS = sample.atS
  memory.refPct = humidityPct
  memory.refTempC = sample.tempC
  memory.hits = 0
  memory.blockCount = 0
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
  if (isLow(humidityPct, moment.settings.band)) memory.wasLow = true
  const isWetter =
    humidityPct * waterWeight(sample.tempC, 0) > memory.refPct * waterWeight(memory.refTempC, 0)
  // The first reading after the plateau is the next reference.
  if (moment.wetGate.isOpen) {
    memory.refAtS = null
    memory.wasWet = true
  } else if (memory.refAtS === null || (isEarly && isWetter)) refer(memory, sample, humidityPct)
}
