import { median } from '../stats/quantile.ts'

/** Where the outlet really switches (median reading at its last switches, % RH as reported), and how late it says so. */
export type SwitchingMemory = { start: number[]; stop: number[]; lagS: number[] }

const KEPT = 15
const LAGS_KEPT = 20
/** Switches before the learned point replaces the band's limit. */
const LEARNED_MIN = 5
/** Before any lag is seen, s: one five-minute report. */
const PRIOR_LAG_S = 300

export function startSwitching(): SwitchingMemory {
  return { start: [], stop: [], lagS: [] }
}

function push(list: number[], value: number, kept: number): void {
  list.push(value)
  if (list.length > kept) list.shift()
}

/**
 * The reading at which the pump started, % RH. An outlet that is in order is late by a poll or two; half a band above its
 * limit a hand started the pump, or hooked the rig up, and the outlet's own switching point is not seen.
 */
export function takeStartPoint(
  memory: SwitchingMemory,
  humidityPct: number,
  band: { readonly startPct: number; readonly stopPct: number },
): void {
  if (humidityPct > band.startPct + (band.startPct - band.stopPct) / 2) return
  push(memory.start, humidityPct, KEPT)
}

/**
 * The reading at which the pump stopped, % RH. A hub that posts a value again until it has a new one, or a run shorter than
 * its readings are apart, shows at the stop the air of the start: above the middle of the band the fall was not seen.
 */
export function takeStopPoint(
  memory: SwitchingMemory,
  humidityPct: number,
  band: { readonly startPct: number; readonly stopPct: number },
): void {
  if (humidityPct > (band.startPct + band.stopPct) / 2) return
  push(memory.stop, humidityPct, KEPT)
}

export function takeLag(memory: SwitchingMemory, lagS: number): void {
  push(memory.lagS, lagS, LAGS_KEPT)
}

function medianOf(values: readonly number[], otherwise: number): number {
  return values.length < LEARNED_MIN ? otherwise : (median(values) ?? otherwise)
}

export function startPointPct(memory: SwitchingMemory, bandStartPct: number): number {
  return medianOf(memory.start, bandStartPct)
}

/** The driest air of its last starts, none above the band's, % RH; `null` until learned. */
export function leastStartPct({ start }: SwitchingMemory, bandStartPct: number): number | null {
  return start.length < LEARNED_MIN ? null : Math.min(bandStartPct, ...start)
}

/** One post this far above the limit is no noise of air that is still below it, in deviations. */
const OVER_SIGMAS = 3
/** Air that stands so far above every start so far has started the pump, in deviations. */
const STANDS_SIGMAS = 2

type Sure = { readonly startPct: number; readonly tolPct: number; readonly sigmaPct: number }

/** One reading above this has started a pump that nobody reports, % RH: the end of the outlet's tolerance `tolPct`, and no noise. */
export function passedPct({ startPct, tolPct, sigmaPct }: Sure): number {
  return startPct + Math.max(tolPct, OVER_SIGMAS * sigmaPct)
}

/**
 * Air that stands above this for twenty minutes, as their mean, has started it as well: its outlet has started it no later in at
 * least five runs. One post there says nothing, for the outlet looks at another instant and with noise of its own; it looks every
 * quarter of an hour at least, though, and sees air two deviations above where it starts. Starts are learned as the driest of the
 * ten minutes before the last post, which is as far behind air that rises as the mean of twenty is.
 */
export function surelyOnPct(memory: SwitchingMemory, at: Sure): number {
  const latestPct = at.startPct + at.tolPct
  if (memory.start.length < LEARNED_MIN) return latestPct
  return Math.min(latestPct, Math.max(at.startPct, ...memory.start) + STANDS_SIGMAS * at.sigmaPct)
}

export function stopPointPct(memory: SwitchingMemory, bandStopPct: number): number {
  return medianOf(memory.stop, bandStopPct)
}

/** How late the pump's state is reported, s: the 95 % quantile of the last twenty runs. */
export function reportLagS(memory: SwitchingMemory): number {
  if (memory.lagS.length < LEARNED_MIN) return PRIOR_LAG_S
  const sorted = new Float64Array(memory.lagS).sort()
  return sorted[Math.floor(0.95 * (sorted.length - 1))] ?? PRIOR_LAG_S
}
