import { saturationDensityGm3 } from '../air/vapour.ts'
import type { EndedRun, Moment } from './rule.ts'

/**
 * How much hangar air a closed loop takes in: a balance of water from the end of one run to the end of the next. Both
 * ends are at `stop`, where films and oil hold the same, so what the run carried out is what the rest and the run let
 * in. It is known when the run ends, a whole rest before the cycle closes. Over half a day and more day and night mix,
 * and what one end was above the other evens out. What the beads send back is left at their residual, because the
 * ledger would follow a leak.
 */
export type IngressWindow = {
  /** The run before: when it ended, and at what, % RH. `null` after a gap or a suspension: nothing is bridged. */
  lastEndS: number | null
  lastEndPct: number
  /** Vapour that the loop's own air held then, g/m3; `null` without a temperature. */
  lastEndGm3: number | null
  /** Hangar air since then, g/m3. */
  ambientSumGm3: number
  ambientCount: number
  hours: number
  /** Water carried out, g, by fresh beads and at the least (see `Ingress`), and what each L/h of hangar air would have brought, g. */
  waterG: number
  leastG: number
  perLitreG: number
  /** The same from the climb of the rests: % RH gained, and the drive behind it, % RH times h. */
  climbPct: number
  drivePctH: number
  /** Hangar vapour over the window, g/m3 times h. */
  ambientGm3H: number
  fromS: number
  isSettled: boolean
}

export const startWindow = (): IngressWindow => ({
  lastEndS: null,
  lastEndPct: 0,
  lastEndGm3: null,
  ambientSumGm3: 0,
  ambientCount: 0,
  hours: 0,
  waterG: 0,
  leastG: 0,
  perLitreG: 0,
  climbPct: 0,
  drivePctH: 0,
  ambientGm3H: 0,
  fromS: 0,
  isSettled: true,
})

/** Oil refills the air for days after a flight: until then a window is compared with its like, days. */
export const SETTLED_DAYS = 5

/** Half a day at least: a run at night and one by day, or one long rest. */
export const WINDOW_H = 12
/** Where no temperature is known, degC: humidity is then judged as if it never changed. */
const ASSUMED_C = 20
const ASSUMED_CLIMATE_C = 15

/** Adds the hangar's air of one grid time. */
export function followAir(window: IngressWindow, moment: Moment): void {
  if (moment.ambientGm3 === null) return
  window.ambientSumGm3 += moment.ambientGm3
  window.ambientCount += 1
}

/** Measured air as it is; a stated humidity at the hangar's own temperature of these days. g/m3. */
function atHangarC(ambientGm3: number, moment: Moment): number {
  if (moment.isAmbientMeasured || moment.metalTempC === null) return ambientGm3
  const statedC = moment.settings.ambient?.tempC ?? ASSUMED_CLIMATE_C
  return (ambientGm3 * saturationDensityGm3(moment.metalTempC)) / saturationDensityGm3(statedC)
}

/** Hangar air now, g/m3; `null` if nothing is known of it. */
export function hangarGm3(moment: Moment): number | null {
  return moment.ambientGm3 === null ? null : atHangarC(moment.ambientGm3, moment)
}

/**
 * The least difference that is believed, as a share of the hangar's vapour: within a tenth the drive is only the error
 * of two sensors.
 */
const LEAST_DRIVE = 0.1

/**
 * Mean drive of a rest, g/m3: the air nears the hangar's as exp(-lambda t), so what moved it is the logarithmic mean of
 * the difference at its two ends.
 */
function driveGm3(ambientGm3: number, fromGm3: number, toGm3: number): number {
  const least = LEAST_DRIVE * ambientGm3
  const before = Math.max(least, ambientGm3 - fromGm3)
  const after = Math.max(least, ambientGm3 - toGm3)
  return Math.abs(before - after) < 1e-6 ? before : (before - after) / Math.log(before / after)
}

/** Air from beads that are not used up, % RH. */
const FRESH_EXIT_PCT = 0.5
/** Where the flow is not stated, L/min: only ratios are judged then. */
const USUAL_FLOW_L_PER_MIN = 2.5

/**
 * Water that a run carried out, g: the mean of its air as read, where that was followed, less what came back from the beads, at `exitPct`.
 * Without it the air fell exponentially from the peak to the end; but the peak of a sensor in the box is the box's own two litres,
 * gone in a minute.
 */
function runWaterG(run: EndedRun, peakPct: number, exitPct: number, moment: Moment): number {
  const endPct = endOf(run, moment)
  const fromPct = Math.max(endPct + 0.1, peakPct)
  const meanPct = (fromPct - endPct) / Math.log(fromPct / endPct)
  const saturationGm3 = saturationDensityGm3(run.tempC ?? moment.metalTempC ?? ASSUMED_C)
  const airM3 = ((moment.settings.flowLPerMin ?? USUAL_FLOW_L_PER_MIN) * (run.toS - run.fromS)) / 60_000
  const meanGm3 = run.inletGm3 ?? (meanPct * saturationGm3) / 100
  return airM3 * Math.max(0, meanGm3 - (exitPct * saturationGm3) / 100)
}

const endOf = (run: EndedRun, moment: Moment) => Math.max(1, run.endPct ?? moment.settings.band.stopPct)

const heldGm3 = (pct: number, moment: Moment) =>
  moment.metalTempC === null ? null : (pct / 100) * saturationDensityGm3(moment.metalTempC)

/** Where the volume is not stated, L: a crankcase with its hoses. */
const USUAL_VOLUME_L = 45

/**
 * What the loop's air holds more than at the end of the run before, g: at the same `stop` a warmer engine holds more. Films
 * and oil go with RH and hold the same.
 */
function storedG(window: IngressWindow, run: EndedRun, moment: Moment): number {
  const endGm3 = heldGm3(run.endPct ?? moment.settings.band.stopPct, moment)
  if (endGm3 === null || window.lastEndGm3 === null) return 0
  return ((moment.settings.volumeL ?? USUAL_VOLUME_L) * (endGm3 - window.lastEndGm3)) / 1000
}

/** A window that warmed up may have let in less than its air took up: so little water is none, g. */
const LEAST_WATER_G = 1e-3

export type Ingress = {
  readonly fromS: number
  readonly toS: number
  /** From the water of the runs, L/h of hangar air. */
  readonly litresPerH: number
  /**
   * The least that it can be, L/h: used-up beads, or hangar air drawn in before the pump, hold the air up at a floor, and what is over that came
   * out of the engine. A run that ended had its floor below its end.
   */
  readonly leastLPerH: number
  /** From the climb of the rests, 1/h: neither beads nor the flow come into it. */
  readonly climbPerH: number
  /** The drive as a share of the hangar's vapour: the smaller, the more an error of either counts. */
  readonly driveShare: number
  /** Days since the engine was last wetted, at the end; infinite if that is not known. */
  readonly dryDays: number
  /** More than five days after a flight. */
  readonly isSettled: boolean
}

/** The least climb that a sensor tells from none, % RH. */
const LEAST_CLIMB_PCT = 0.3

function add(
  window: IngressWindow,
  run: EndedRun,
  last: { readonly atS: number; readonly pct: number },
  moment: Moment,
): void {
  const { startPct: bandPct } = moment.settings.band
  const saturationGm3 = saturationDensityGm3(moment.metalTempC ?? run.tempC ?? ASSUMED_C)
  // A box that leaks more than its engine starts the pump by itself: what the rest let into the engine comes after it.
  const enginePct = run.engineGm3 === null ? null : (100 * run.engineGm3) / saturationGm3
  const topPct = enginePct ?? Math.max(run.startPct ?? bandPct, run.peakPct ?? 0)
  const ambientGm3 = atHangarC(window.ambientSumGm3 / window.ambientCount, moment)
  const drive = driveGm3(ambientGm3, (last.pct / 100) * saturationGm3, (topPct / 100) * saturationGm3)
  const hours = (run.toS - last.atS) / 3600
  const restH = (run.fromS - last.atS) / 3600
  if (window.hours === 0) window.fromS = last.atS
  window.hours += hours
  const gainedG = storedG(window, run, moment)
  const peakPct = run.peakPct ?? topPct
  window.waterG += runWaterG(run, peakPct, FRESH_EXIT_PCT, moment) + gainedG
  window.leastG += runWaterG(run, peakPct, endOf(run, moment), moment) + gainedG
  window.perLitreG += (drive * hours) / 1000
  window.climbPct += topPct - last.pct
  window.drivePctH += ((100 * drive) / saturationGm3) * restH
  window.ambientGm3H += ambientGm3 * hours
}

/** Takes a run that ended, `dryDays` after the engine was wetted; the ingress since the run before once the window is full. */
export function takeRun(
  window: IngressWindow,
  run: EndedRun,
  moment: Moment,
  dryDays: number,
): Ingress | null {
  const isSettled = dryDays > SETTLED_DAYS
  const { lastEndS, lastEndPct } = window
  // Air without any water is a dead sensor's, or a stated climate of zero: nothing can have got in by it.
  const hasAir = window.ambientSumGm3 > 0
  // What is left of a flight in films and oil does not mix with what came later.
  if (window.hours > 0 && window.isSettled !== isSettled) emptyWindow(window)
  window.isSettled = isSettled
  if (lastEndS !== null && run.isWhole && hasAir) add(window, run, { atS: lastEndS, pct: lastEndPct }, moment)
  else emptyWindow(window)
  window.lastEndS = run.toS
  window.lastEndPct = run.endPct ?? moment.settings.band.stopPct
  window.lastEndGm3 = heldGm3(window.lastEndPct, moment)
  window.ambientSumGm3 = 0
  window.ambientCount = 0
  if (window.hours < WINDOW_H) return null
  const full = ingressOf(window, dryDays)
  emptyWindow(window)
  return full
}

function ingressOf(window: IngressWindow, dryDays: number): Ingress {
  return {
    fromS: window.fromS,
    toS: window.lastEndS ?? window.fromS,
    litresPerH: Math.max(LEAST_WATER_G, window.waterG) / window.perLitreG,
    leastLPerH: Math.max(LEAST_WATER_G, window.leastG) / window.perLitreG,
    climbPerH: Math.max(LEAST_CLIMB_PCT, window.climbPct) / Math.max(1e-3, window.drivePctH),
    driveShare: (1000 * window.perLitreG) / window.ambientGm3H,
    dryDays,
    isSettled: window.isSettled,
  }
}

/** The window so far, however short; `null` with nothing in it. */
export function partOf(window: IngressWindow, dryDays: number): Ingress | null {
  return window.hours > 0 ? ingressOf(window, dryDays) : null
}

/** A flight, a preheat: what was collected would mix two things. */
export function emptyWindow(window: IngressWindow): void {
  window.hours = 0
  window.waterG = 0
  window.leastG = 0
  window.perLitreG = 0
  window.climbPct = 0
  window.drivePctH = 0
  window.ambientGm3H = 0
}

/** A gap, a suspension: the next run has no run before it. */
export function breakWindow(window: IngressWindow): void {
  emptyWindow(window)
  window.lastEndS = null
  window.ambientSumGm3 = 0
  window.ambientCount = 0
}
