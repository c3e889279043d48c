import type { PumpBasis } from '../fold/outputs.ts'
import { type Levels, startLevels } from './metered.ts'

/** What is known of the pump: its reported state, else its power, else what the band and the trace imply. */
export type PumpMemory = {
  reported: boolean | null
  powerW: number | null
  /** By the last power that was metered. */
  isMeteredOn: boolean
  levels: Levels
  basis: PumpBasis
  state: 'run' | 'rest' | 'unknown'
  sinceS: number | null
  /** Inferred state and the turning point it watches. */
  inferred: 'run' | 'rest' | 'unknown'
  turnPct: number | null
  turnAtS: number
  /** The last reading was the lowest. */
  isTurning: boolean
  /** Vapour that the inferred run began with, and its least since, g/m3; `null` without a temperature. */
  fromGm3: number | null
  leastGm3: number | null
  /** Air that has touched `start` within the outlet's tolerance: its most, g/m3 or % RH, and when it was last near that, s. */
  touchedAir: number | null
  touchedAtS: number
  /** Running median of the power while on, W, and how many readings stand behind it. */
  usualW: number
  usualCount: number
}

export function startPump(): PumpMemory {
  return {
    reported: null,
    powerW: null,
    isMeteredOn: false,
    levels: startLevels(),
    basis: 'inferred',
    state: 'unknown',
    sinceS: null,
    inferred: 'unknown',
    turnPct: null,
    turnAtS: 0,
    isTurning: false,
    fromGm3: null,
    leastGm3: null,
    touchedAir: null,
    touchedAtS: 0,
    usualW: 0,
    usualCount: 0,
  }
}

/** A gap: nothing that was held is known any more. */
export function forgetPump(pump: PumpMemory): void {
  pump.reported = null
  pump.powerW = null
  pump.isMeteredOn = false
  pump.state = 'unknown'
  pump.sinceS = null
  forgetInferred(pump)
}

/** Whether the pump is on by a report, else by its power; `null`: neither tells. */
export function toldOn({ reported, powerW, isMeteredOn }: PumpMemory): boolean | null {
  return reported ?? (powerW === null ? null : isMeteredOn)
}

/** What the air said of the pump is not known any more. */
export function forgetInferred(pump: PumpMemory): void {
  pump.inferred = 'unknown'
  pump.turnPct = null
  pump.touchedAir = null
}

const USUAL_MIN = 12
const USUAL_GAIN = 0.02
/** Power this far from the usual is no run of this pump; another pump's is taken over within days, not within an hour. */
const ODD_LOW = 0.3
const ODD_HIGH = 2
const ODD_GAIN = 0.001

export function takePower(pump: PumpMemory, powerW: number, isOn: boolean): void {
  pump.powerW = powerW
  pump.isMeteredOn = isOn
  if (!isOn || powerW <= 0) return
  if (pump.usualCount === 0) pump.usualW = powerW
  const share = powerW / pump.usualW
  const isOdd = pump.usualCount >= USUAL_MIN && (share < ODD_LOW || share > ODD_HIGH)
  const gain = isOdd ? ODD_GAIN : USUAL_GAIN
  pump.usualW *= powerW > pump.usualW ? 1 + gain : powerW < pump.usualW ? 1 - gain : 1
  pump.usualCount = Math.min(1000, pump.usualCount + 1)
}

/** Median power while on, W; `null` until a dozen readings stand behind it. */
export function usualPowerW(pump: PumpMemory): number | null {
  return pump.usualCount < USUAL_MIN ? null : pump.usualW
}

export type InferPoint = {
  readonly atS: number
  readonly humidityPct: number
  /** Above this an outlet in order has started its pump, % RH; between `startPct` and this it may have. */
  readonly surelyOnPct: number
  readonly startPct: number
  readonly stopPct: number
  readonly sigmaPct: number
  readonly stepPct: number
  /** Vapour density where a temperature is measured, g/m3. */
  readonly densityGm3: number | null
}

function turn(pump: PumpMemory, state: 'run' | 'rest', point: InferPoint): void {
  pump.inferred = state
  pump.turnPct = point.humidityPct
  pump.turnAtS = point.atS
  pump.isTurning = true
  pump.fromGm3 = point.densityGm3 === null ? null : (pump.touchedAir ?? point.densityGm3)
  pump.leastGm3 = point.densityGm3
  pump.touchedAir = null
}

/**
 * From `start` to the end of the tolerance a pump may run or not: on a cool morning the air touches the limit and falls back by
 * noon. If it runs, the air loses a seventh within the hour, in vapour density, which a closed box at rest cannot (a twentieth
 * at the most); the slowest loop that is built, 0.37 /h, is through that in half an hour.
 */
export const NEAR_TOP = 0.95
const FELL_TO = 0.85
export const FALL_WITHIN_S = 3600
/** And it is no fall from the one end of the noise to the other: three deviations each, and a step. */
const FELL_SIGMAS = 6

/** How far air at `start` falls that is being moved and no noise, as a share of it. */
const fellToShare = ({ sigmaPct, stepPct, startPct }: InferPoint) =>
  Math.min(FELL_TO, 1 - (FELL_SIGMAS * sigmaPct + stepPct) / startPct)

/** Since when the pump runs by what `point` shows, s; `null`: it does not, as far as anybody can tell. */
function runsSinceS(pump: PumpMemory, point: InferPoint): number | null {
  const { humidityPct, startPct, densityGm3, atS } = point
  if (humidityPct >= point.surelyOnPct) return atS
  const air = densityGm3 ?? humidityPct
  if (pump.touchedAir === null && humidityPct < startPct) return null
  const top = pump.touchedAir ?? air
  if (air >= NEAR_TOP * top) {
    pump.touchedAir = Math.max(top, air)
    pump.touchedAtS = atS
    return null
  }
  if (atS - pump.touchedAtS <= FALL_WITHIN_S) return air <= fellToShare(point) * top ? pump.touchedAtS : null
  pump.touchedAir = null
  return null
}

/**
 * Air that came so near to `stop`, two sigma or a step, was at it between two readings or in the noise, if it has got no
 * lower for so long, s: a pump that still ran would have taken it there.
 */
const AT_STOP_SIGMAS = 2
const AT_STOP_FOR_S = 3600

/** The lowest point of a run lies in this part of the band: higher up the surge still goes back and forth. */
const LOW_SHARE = 0.4

/** Whether air that came down there may be at the end of its run. */
export function isLow(
  humidityPct: number,
  { startPct, stopPct }: { readonly startPct: number; readonly stopPct: number },
): boolean {
  return humidityPct <= stopPct + LOW_SHARE * (startPct - stopPct)
}

/**
 * Higher up too, where a small engine is dried between two posts: air that fell as only beads make it, and then has climbed within the
 * band for so long, s. Behind a dead pump it would not have fallen; a surge is over by then, and a wet engine's air is over `start`.
 */
const CLIMBS_FOR_S = 3600
/** A dead pump that is on warms its box, by 8 K at most, and RH falls by that to this share of it; vapour does not. */
const HEATED_TO = 0.61

/** Whether the air of a run fell as only beads make it: in RH, and by more than the heat of the pump does. */
function hasFallen({ fromGm3, leastGm3 }: PumpMemory, lowestPct: number, point: InferPoint): boolean {
  const share = fellToShare(point)
  const pctShare = lowestPct / point.startPct
  if (fromGm3 === null || leastGm3 === null) return pctShare <= share * HEATED_TO
  return pctShare <= share && leastGm3 <= share * fromGm3
}

function hasFallenAndClimbs(pump: PumpMemory, lowestPct: number, point: InferPoint): boolean {
  const { turnAtS, sinceS } = pump
  const isQuick = turnAtS - (sinceS ?? turnAtS) <= FALL_WITHIN_S
  const isClimbing = point.humidityPct < point.startPct && point.atS - turnAtS >= CLIMBS_FOR_S
  return isQuick && isClimbing && hasFallen(pump, lowestPct, point)
}

/** Whether the air of a run has turned at its lowest reading. */
function hasTurned(pump: PumpMemory, lowestPct: number, point: InferPoint): boolean {
  const { turnAtS } = pump
  const { humidityPct, startPct, stopPct, sigmaPct, stepPct, atS } = point
  const climbPct = Math.max(0.08 * (startPct - stopPct), 4 * sigmaPct, 2 * stepPct)
  const hasClimbed = humidityPct >= lowestPct + climbPct
  if (hasClimbed && (isLow(lowestPct, point) || hasFallenAndClimbs(pump, lowestPct, point))) return true
  const isAtStop = lowestPct <= stopPct + Math.max(AT_STOP_SIGMAS * sigmaPct, stepPct)
  return isAtStop && atS - turnAtS >= AT_STOP_FOR_S
}

/**
 * Infers the state from a reading: on from the first reading at `start` and its tolerance, or that fell from there; off from the first at `stop` or from the
 * lowest reading after which the air climbs again. Returns when the new state began, or `null` if it is unchanged.
 */
export function inferPump(pump: PumpMemory, point: InferPoint): number | null {
  const { humidityPct, stopPct, atS, densityGm3 } = point
  if (pump.turnPct === null) turn(pump, 'rest', point)
  if (pump.inferred !== 'run') {
    const fromS = runsSinceS(pump, point)
    if (fromS !== null) turn(pump, 'run', point)
    return fromS
  }
  const lowestPct = Math.min(humidityPct, pump.turnPct ?? humidityPct)
  const isLower = lowestPct !== pump.turnPct
  pump.isTurning = isLower || (pump.isTurning && humidityPct === lowestPct)
  if (pump.isTurning) {
    pump.turnPct = lowestPct
    pump.turnAtS = atS
  }
  if (densityGm3 !== null) pump.leastGm3 = Math.min(densityGm3, pump.leastGm3 ?? densityGm3)
  if (humidityPct <= stopPct) {
    turn(pump, 'rest', point)
    return atS
  }
  if (!hasTurned(pump, lowestPct, point)) return null
  const { turnAtS } = pump
  turn(pump, 'rest', point)
  return turnAtS
}
