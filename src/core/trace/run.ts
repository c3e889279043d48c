import type { PumpBasis } from '../fold/outputs.ts'
import { addDrying, copyDrying, type DryingSums, resetDrying, startDrying } from './drying-fit.ts'

/** A run while it lasts: sums only, so that a run of minutes and one of weeks weigh the same. */
export type RunMemory = {
  fromS: number
  /** When it was first reported, s: later than it began, as its end is reported later than it was. */
  toldFromS: number
  basis: PumpBasis
  /** Last reading at rest before it: % RH as reported, vapour density. */
  startPct: number | null
  startGm3: number | null
  peakPct: number | null
  peakGm3: number
  peakAtS: number
  /** The highest of all its readings, % RH; and the one with the most water, g/m3 and s. */
  topPct: number
  topGm3: number
  topAtS: number
  lastPct: number | null
  lastGm3: number
  lastAtS: number
  /** Since when the last reading has been shown unchanged, s. */
  heldSinceS: number
  lowPct: number
  lowGm3: number
  lowAtS: number
  /** The drying curve up to the lowest reading: the pump may be off long before its report says so. */
  drying: DryingSums
  /** The same with the readings since then. */
  ahead: DryingSums
  /** The last reading was no lower than the lowest but for noise. */
  isFalling: boolean
  /** When the upper of the two fixed readings was passed for the last time, s; minutes from there to the lower one. */
  highAtS: number | null
  minutes: number | null
  waterG: number
  /** Vapour in the air that went to the beads, g, and that air, m3: what came out of the engine, whatever the beads sent back. */
  inletG: number
  inletM3: number
  energyWh: number
  tempSum: number
  tempCount: number
  /** Engine air at the start, back-extrapolated, g/m3. */
  engineGm3: number | null
  isEngineKnown: boolean
  /** A hot engine, the wet plateau, a suspension or other air was part of it: it teaches nothing about the rig. */
  isOdd: boolean
  afterFlight: boolean
}

export type RunStart = {
  readonly fromS: number
  readonly basis: PumpBasis
  readonly startPct: number | null
  readonly startGm3: number | null
  readonly afterFlight: boolean
  /** Since when the value at its start had been shown, s, where the air alone shows the pump: the fall lies anywhere from there. */
  readonly shownSinceS?: number
}

export function startRun({ shownSinceS, ...start }: RunStart): RunMemory {
  return {
    ...start,
    toldFromS: start.fromS,
    peakPct: null,
    peakGm3: 0,
    peakAtS: start.fromS,
    topPct: 0,
    topGm3: 0,
    topAtS: start.fromS,
    lastPct: null,
    lastGm3: 0,
    lastAtS: start.fromS,
    heldSinceS: shownSinceS ?? start.fromS,
    lowPct: Number.MAX_VALUE,
    lowGm3: 0,
    lowAtS: start.fromS,
    drying: startDrying(),
    ahead: startDrying(),
    isFalling: true,
    highAtS: null,
    minutes: null,
    waterG: 0,
    inletG: 0,
    inletM3: 0,
    energyWh: 0,
    tempSum: 0,
    tempCount: 0,
    engineGm3: null,
    isEngineKnown: false,
    isOdd: false,
  }
}

/** One reading of the return air during a run. */
export type RunPoint = {
  readonly atS: number
  readonly humidityPct: number
  readonly densityGm3: number
  readonly tempC: number
  /** rho_s(T)/rho_s(15 degC). */
  readonly scale: number
  /** What noise and step make of two equal readings, % RH. */
  readonly tolerancePct: number
}

/** The two fixed readings between which a run is timed, % RH as reported. */
export type Marks = { readonly highPct: number; readonly lowPct: number }

/** The marks of a band: clear of its limits, where a report may be late. */
export function marksOf({
  startPct,
  stopPct,
}: {
  readonly startPct: number
  readonly stopPct: number
}): Marks {
  const bandPct = startPct - stopPct
  return { highPct: startPct - 0.33 * bandPct, lowPct: stopPct + 0.17 * bandPct }
}

/** The surge may take this long to peak, s; later maxima belong to the weather. */
const SURGE_MAX_S = 3600
/** Air of a closed loop does not get so much wetter once its surge is over: the rig was off, or the engine was wetted, % RH. */
const LATE_RISE_PCT = 8
const LATE_RISE_FACTOR = 1.4

/** Readings below this are taken as this for a logarithm, % RH: a reported 0 is no value. */
export const LN_FROM_PCT = 0.1

/**
 * When a level was passed, s. A hub may show one value for a quarter of an hour and then the next, and a sensor of whole
 * percents steps: the fall lies anywhere since the last value was first shown, not in the last spacing of the posts, where it
 * would be timed at no time at all or at the whole quarter. Air dries as an exponential, so the logarithm is divided.
 */
function passing(run: RunMemory, point: RunPoint, levelPct: number): number {
  const before = Math.log(Math.max(LN_FROM_PCT, run.lastPct ?? point.humidityPct))
  const now = Math.log(Math.max(LN_FROM_PCT, point.humidityPct))
  const share = before === now ? 1 : (before - Math.log(levelPct)) / (before - now)
  return run.heldSinceS + share * (point.atS - run.heldSinceS)
}

function takeMarks(run: RunMemory, point: RunPoint, marks: Marks): void {
  if (run.minutes !== null || run.lastPct === null) return
  if (run.lastPct > marks.highPct && point.humidityPct <= marks.highPct)
    run.highAtS = passing(run, point, marks.highPct)
  if (point.humidityPct > marks.highPct) run.highAtS = null
  if (run.highAtS !== null && run.lastPct > marks.lowPct && point.humidityPct <= marks.lowPct) {
    run.minutes = (passing(run, point, marks.lowPct) - run.highAtS) / 60
  }
}

function takePeak(run: RunMemory, point: RunPoint): void {
  run.peakGm3 = point.densityGm3
  run.peakAtS = point.atS
  run.peakPct = Math.max(point.humidityPct, run.peakPct ?? 0)
  run.highAtS = null
  run.minutes = null
  resetDrying(run.ahead)
  addDrying(run.ahead, 0, point.scale, point.densityGm3)
  copyDrying(run.ahead, run.drying)
  run.lowPct = Number.MAX_VALUE
}

/** Whether a reading differs from the last of the run: a hub may post what it has seen before, % RH. */
export const isNewValue = (run: RunMemory, humidityPct: number): boolean => humidityPct !== run.lastPct

/** Takes a reading; `isWet` while the wet gate holds: the plateau is no part of the drying curve. */
export function takeRunPoint(run: RunMemory, point: RunPoint, marks: Marks, isWet: boolean): void {
  if (
    run.peakPct === null ||
    isWet ||
    (point.densityGm3 > run.peakGm3 && point.atS - run.fromS <= SURGE_MAX_S)
  ) {
    takePeak(run, point)
  } else {
    addDrying(run.ahead, (point.atS - run.lastAtS) / 3600, point.scale, point.densityGm3)
    takeMarks(run, point, marks)
    if (point.atS - run.fromS <= SURGE_MAX_S) run.peakPct = Math.max(point.humidityPct, run.peakPct)
  }
  const isLateRise =
    point.humidityPct > (run.peakPct ?? 0) + LATE_RISE_PCT &&
    point.densityGm3 > LATE_RISE_FACTOR * run.peakGm3
  if (isWet || isLateRise) run.isOdd = true
  run.topPct = Math.max(run.topPct, point.humidityPct)
  if (point.densityGm3 > run.topGm3) {
    run.topGm3 = point.densityGm3
    run.topAtS = point.atS
  }
  run.isFalling = point.humidityPct <= run.lowPct + point.tolerancePct
  if (run.isFalling) copyDrying(run.ahead, run.drying)
  if (point.humidityPct <= run.lowPct) {
    run.lowPct = point.humidityPct
    run.lowGm3 = point.densityGm3
    run.lowAtS = point.atS
  }
  const isStillShown =
    run.lastPct === null && run.heldSinceS < run.fromS && point.humidityPct === run.startPct
  if (isNewValue(run, point.humidityPct) && !isStillShown) run.heldSinceS = point.atS
  run.lastPct = point.humidityPct
  run.lastGm3 = point.densityGm3
  run.lastAtS = point.atS
  run.tempSum += point.tempC
  run.tempCount += 1
}

/** Mean temperature of a run, degC; 15 if it had no reading. */
export function runTempC(run: RunMemory): number {
  return run.tempCount === 0 ? 15 : run.tempSum / run.tempCount
}
