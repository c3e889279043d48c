import { floorHighPct, slowestPerH, waterWeight } from './drying.ts'
import type { Moment } from './rule.ts'

/** What heat and history do to a sensor of this price between two equal airs, as a share of the reading. */
const RELATIVE_ERROR = 0.03

/**
 * Water in walls beside the air's own, as a multiple at 15 degC. A dead pump conserves something between vapour density
 * (0: the air in the box) and about twice that (1: box and hose walls); a cooling hangar makes the two differ, a
 * working pump takes both down to the floor. So either one standing still is no drop.
 */
const WALL_RATIOS = [0, 1] as const

/**
 * The most that walls, films (twice the air's own water) and oil (six times) can hold: no further than this from RH alone. Being
 * the furthest from vapour density it bounds, with 0, whatever the rig has.
 */
const MOST_RATIO = 8

/**
 * A night of 10 K raises the RH of the same vapour by so much, at 20 degC (at 0 degC twice): without a temperature a smaller rise
 * is no water. With one, that of the box runs up to 4 K ahead of the metal, which holds the water and lags by four hours: so much
 * in RH at 5 degC, and in vapour density as well.
 */
const NIGHT_FACTOR = 1.8
const LAG_FACTOR = 1.3

/**
 * What walls, films and oil hold is not known better than between these two and twice as far again: of a change of
 * saturated density, on a logarithmic scale, so much is left over as one standard deviation.
 */
const WALL_ERROR = 0.1

/**
 * Share of the way from the reference to the floor, and the part of its error that no averaging takes away. `most` is what the air
 * can have come down at the most, whatever holds water beside it: below zero it is wetter for certain.
 */
export type Drop = { readonly share: number; readonly most: number; readonly error: number }

/** Where a drop starts from, % RH and degC, and by how much the pump warmed the box since the run began, K. */
export type Reference = {
  readonly pct: number
  readonly tempC: number | null
  readonly startC: number | null
  readonly heatK: number
}

/**
 * The floor's water at a wall ratio, g/m3. Beads and films are in balance at their own temperature, not at that of a box
 * which the pump warms. A rig in order has been below `stop`, whatever its fits say.
 */
function floorWeight(moment: Moment, tempC: number | null, ratio: number): number {
  return Math.min(floorHighPct(moment), moment.switchStopPct) * waterWeight(tempC, ratio)
}

/**
 * Beads at their end let their exit air rise by so much within a run, % RH: air that is no further above the floor has no way to
 * come down.
 */
const LEAST_WAY_PCT = 3

/** The drop at a wall ratio; `null` where there is no way to come down. */
function dropAt(
  from: Reference,
  moment: Moment,
  { humidityPct, tempC, ratio }: { humidityPct: number; tempC: number | null; ratio: number },
): number | null {
  const way = from.pct * waterWeight(from.tempC, ratio) - floorWeight(moment, from.startC, ratio)
  if (way <= LEAST_WAY_PCT * waterWeight(from.tempC, ratio)) return null
  const ownC = tempC === null ? null : tempC - from.heatK
  const left = humidityPct * waterWeight(tempC, ratio) - floorWeight(moment, ownC, ratio)
  return 1 - left / way
}

/** The drop over the wall ratios, and the most that it can be whatever else holds water and however cold the night is. */
export type Shares = { readonly least: number; readonly most: number }

/** `null` where there is no way to come down. `humidityPct` at `tempC`, % RH and degC. */
export function dropShares(
  from: Reference,
  moment: Moment,
  humidityPct: number,
  tempC: number | null,
): Shares | null {
  let least = Infinity
  for (const ratio of WALL_RATIOS) {
    const share = dropAt(from, moment, { humidityPct, tempC, ratio })
    if (share === null) return null
    least = Math.min(least, share)
  }
  const mildPct = humidityPct / (tempC === null ? NIGHT_FACTOR : LAG_FACTOR)
  let most = -Infinity
  for (const ratio of [0, MOST_RATIO]) {
    most = Math.max(most, dropAt(from, moment, { humidityPct: mildPct, tempC, ratio }) ?? Infinity)
  }
  return { least, most }
}

export type BlockEnd = { readonly humidityPct: number; readonly tempC: number | null; readonly count: number }

/** Error of a drop whose end is the mean of `count` readings, one standard deviation; as a share of the way. */
export function dropError(from: Reference, moment: Moment, end: BlockEnd): number {
  const warming = Math.log(waterWeight(end.tempC, 0) / waterWeight(from.tempC, 0))
  const spanPct = from.pct - floorWeight(moment, from.startC, 0) / waterWeight(from.tempC, 0)
  const walls = (WALL_ERROR * Math.abs(warming) * from.pct) / spanPct
  return Math.hypot(sensorError(from, moment, end), walls)
}

/** That of the sensor alone. */
function sensorError(from: Reference, moment: Moment, { humidityPct, count }: BlockEnd): number {
  const { sigmaPct, stepPct } = moment.sensor
  const step = stepPct / Math.sqrt(12)
  const reference = Math.hypot(sigmaPct, step)
  const end = Math.hypot(sigmaPct / Math.sqrt(count), step)
  const sensor = RELATIVE_ERROR * Math.min(humidityPct, from.pct)
  const spanPct = from.pct - floorWeight(moment, from.startC, 0) / waterWeight(from.tempC, 0)
  return Math.hypot(reference, end, sensor) / spanPct
}

/**
 * After a time t a working pump has made 1 - exp(-k t) of the way, a dead one nothing or less. What stands between the two
 * is how slow this rig can be, and how far off two readings: the drop seen must be out of reach of every mix of the two
 * within 4.1 standard deviations (a first-order reliability bound: 2e-5 a run), so of all slowness, of all error, and of
 * half of each. A quick rig that has taught its rate is told in an hour, one in the cold as soon as even its slowest drying
 * would show beside the noise.
 */
const MIXES: readonly (readonly [slow: number, off: number])[] = [
  [4.1, 0],
  [2.9, 2.9],
  [0, 4.1],
]
/** The rate that `slowestPerH` gives lies so many standard deviations down. */
const LOW_IS = 1.645
/** Noise, walls and heat of air that stands still reach no further, standard deviations. */
const STILL_SIGMAS = 4.1
/** However slow: a third of the way is a drop. */
const SHARE_MAX = 1 / 3

/** A rate that no working pump of this rig falls below, 1/h: 4.1 standard deviations down. */
export function leastPerH(moment: Moment): number {
  const spread = Math.log(Math.max(1, moment.kPerH.high / moment.kPerH.low)) / (2 * LOW_IS)
  return slowestPerH(moment) * Math.exp((LOW_IS - 4.1) * spread)
}

/** True where no working pump of this rig would have made so little of the way in `waitedH` hours. */
export function isBelowReach(drop: Drop, moment: Moment, waitedH: number): boolean {
  if (drop.share >= SHARE_MAX) return false
  const spread = Math.log(Math.max(1, moment.kPerH.high / moment.kPerH.low)) / (2 * LOW_IS)
  const way = waitedH * slowestPerH(moment)
  return MIXES.every(
    ([slow, off]) => drop.share < 1 - Math.exp(-way * Math.exp((LOW_IS - slow) * spread)) - off * drop.error,
  )
}

/** Exchanges of a pump box with the hangar's air: the leakiest that is built, 1/h. */
const BOX_LEAK_PER_H = 0.05
/** Where only the climate is stated the hangar's air may be so much drier, two standard deviations of its weather, as a share. */
const CLIMATE_LOW_SHARE = 0.4

/**
 * What a sealed loop whose pump moves nothing may lose in `waitedH` hours through its box to a drier hangar, as a share of
 * the way from the reference to the floor. Heat and walls are the drop's own error; diffusion along a hose is 0.01 L/h.
 */
function boxLoss(from: Reference, moment: Moment, waitedH: number, ratio = 0): number {
  const ambientGm3 = moment.ambientGm3 ?? 0
  const driestGm3 = moment.isAmbientMeasured ? ambientGm3 : (1 - CLIMATE_LOW_SHARE) * ambientGm3
  const fromGm3 = (from.pct / 100) * waterWeight(from.tempC, 0)
  const wayGm3 = (from.pct * waterWeight(from.tempC, ratio) - floorWeight(moment, from.startC, ratio)) / 100
  if (driestGm3 >= fromGm3 || wayGm3 <= 0) return 0
  return ((1 - Math.exp(-BOX_LEAK_PER_H * waitedH)) * (fromGm3 - driestGm3)) / wayGm3
}

/**
 * A sensor in the engine has the temperature of what it sees, and walls there hold between a third of the air's own water at 15
 * degC and three times as much. Air whose water has gone at either, and so at all between, was moved, though the cooling engine
 * keeps its RH.
 */
const ENGINE_RATIOS = [0, 1, 3] as const

type MovedEnd = BlockEnd & { readonly waitedH: number }

function isMovedInEngine(from: Reference, moment: Moment, end: MovedEnd): boolean {
  const { humidityPct, tempC, waitedH } = end
  const reach = STILL_SIGMAS * sensorError(from, moment, end)
  return ENGINE_RATIOS.every((ratio) => {
    const share = dropAt(from, moment, { humidityPct, tempC, ratio })
    return share !== null && share > reach + boxLoss(from, moment, waitedH, ratio)
  })
}

/**
 * True where the air has come down by more than it can without being moved, 4.1 standard deviations and the box's leak: in
 * vapour density, in what walls keep, and in RH, for a cooling sensor's air takes up no less than all of it.
 */
export function isMovedAir(drop: Drop, from: Reference, moment: Moment, end: MovedEnd): boolean {
  const spanPct = from.pct - Math.min(floorHighPct(moment), moment.switchStopPct)
  if (spanPct <= 0 || from.tempC === null || end.tempC === null) return false
  if (moment.settings.sensorSits === 'engine' && isMovedInEngine(from, moment, end)) return true
  const fall = Math.min(drop.share, (from.pct - end.humidityPct) / spanPct)
  return fall > STILL_SIGMAS * drop.error + boxLoss(from, moment, end.waitedH)
}
