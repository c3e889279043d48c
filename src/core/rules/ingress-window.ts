import { saturationDensityGm3 } from '../air/vapour.ts'
import type { Cycle } from '../fold/outputs.ts'
import type { Moment } from './rule.ts'

/**
 * How much hangar air a closed loop takes in, from what the pump has to carry out again: over whole days films and oil
 * give back what they took, so the water of the runs is the water that came in. A single rest says far less: there the
 * reading follows the temperature, the box and the films more than the seal. The air in a run is taken as falling from
 * its peak to its end; what the beads send back is left at their residual, because the ledger would follow a leak.
 */
export type IngressWindow = {
  hours: number
  /** Water carried out, g, and what each L/h of hangar air would have brought, g. */
  waterG: number
  perLitreG: number
  restH: number
  cycles: number
  fromS: number | null
  /** Hangar air and temperature, smoothed over a day. */
  ambientGm3: number | null
  metalC: number | null
}

export const startWindow = (): IngressWindow => ({
  hours: 0,
  waterG: 0,
  perLitreG: 0,
  restH: 0,
  cycles: 0,
  fromS: null,
  ambientGm3: null,
  metalC: null,
})

/** Day and night cycles differ: a window holds both, or one rest of a day and more. */
const WINDOW_H = 20
/** Weight of one grid step in the smoothed hangar air: a day. */
const AIR_GAIN = 1 / 288
const ASSUMED_C = 15

/** Follows the hangar's air. Called at every grid time. */
export function followAir(window: IngressWindow, moment: Moment): void {
  const ambientGm3 = moment.ambientGm3
  if (ambientGm3 !== null)
    window.ambientGm3 =
      window.ambientGm3 === null
        ? ambientGm3
        : window.ambientGm3 + AIR_GAIN * (ambientGm3 - window.ambientGm3)
  const metalC = moment.metalTempC
  if (metalC !== null)
    window.metalC = window.metalC === null ? metalC : window.metalC + AIR_GAIN * (metalC - window.metalC)
}

/** Hangar air now, g/m3: as measured, else the stated humidity at the hangar's own temperature of these days. */
export function hangarGm3(window: IngressWindow, moment: Moment): number | null {
  if (moment.isAmbientMeasured || window.metalC === null || window.ambientGm3 === null)
    return window.ambientGm3
  const statedC = moment.settings.ambient?.tempC ?? ASSUMED_C
  return (window.ambientGm3 * saturationDensityGm3(window.metalC)) / saturationDensityGm3(statedC)
}

/** The least difference that is believed, as a share of the hangar's vapour. */
const LEAST_DRIVING = 0.3

/** The middle of a cycle's air, g/m3. */
function middleGm3(cycle: Cycle, moment: Moment): number {
  const { startPct, stopPct } = moment.settings.band
  const pct = ((cycle.startPct ?? startPct) + (cycle.endPct ?? stopPct)) / 2
  return (pct / 100) * saturationDensityGm3(cycle.tempC ?? moment.metalTempC ?? ASSUMED_C)
}

/** Air from beads that are not used up, % RH. */
const FRESH_EXIT_PCT = 0.5
/** Where the flow is not stated, L/min: only ratios are judged then. */
const USUAL_FLOW_L_PER_MIN = 2.5

/** Water that a run carried out, g. */
function runWaterG(cycle: Cycle, moment: Moment): number {
  const { band, flowLPerMin } = moment.settings
  const endPct = Math.max(1, cycle.endPct ?? band.stopPct)
  const peakPct = Math.max(endPct + 0.1, cycle.peakPct ?? cycle.startPct ?? band.startPct)
  const middlePct = (peakPct - endPct) / Math.log(peakPct / endPct)
  const saturationGm3 = saturationDensityGm3(cycle.tempC ?? moment.metalTempC ?? ASSUMED_C)
  const airM3 = ((flowLPerMin ?? USUAL_FLOW_L_PER_MIN) * cycle.runMin) / 1000
  return (airM3 * Math.max(0, middlePct - FRESH_EXIT_PCT) * saturationGm3) / 100
}

/** A full window: the ingress, and how long the rests between runs were on average. */
export type Ingress = { readonly litresPerH: number; readonly restH: number }

/** Adds a cycle; the ingress once the window is full, else `null`. */
export function takeCycle(window: IngressWindow, cycle: Cycle, moment: Moment): Ingress | null {
  const ambientGm3 = hangarGm3(window, moment)
  if (ambientGm3 === null) return null
  const hours = (cycle.runMin + cycle.restMin) / 60
  // In a desert, or with a climate that was only stated, the difference is as good as nothing known of it.
  const drivingGm3 = Math.max(ambientGm3 - middleGm3(cycle, moment), LEAST_DRIVING * ambientGm3)
  const perLitreG = (drivingGm3 * hours) / 1000
  window.fromS ??= cycle.runFromS
  window.hours += hours
  window.perLitreG += perLitreG
  window.waterG += runWaterG(cycle, moment)
  window.restH += cycle.restMin / 60
  window.cycles += 1
  if (window.hours < WINDOW_H) return null
  const full = { litresPerH: window.waterG / window.perLitreG, restH: window.restH / window.cycles }
  emptyWindow(window)
  return full
}

/** A flight, a preheat: what was collected would mix two things. */
export function emptyWindow(window: IngressWindow): void {
  window.hours = 0
  window.waterG = 0
  window.perLitreG = 0
  window.restH = 0
  window.cycles = 0
  window.fromS = null
}
