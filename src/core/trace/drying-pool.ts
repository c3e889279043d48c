import { type DryingLine, RATES_PER_H } from './drying-fit.ts'

/**
 * The drying rate belongs to the rig: how often each candidate rate explained a run, old runs fading. A new run is
 * read in the light of this share (shrinkage), and then moves it a little.
 */
export type DryingPool = { readonly share: number[]; runs: number }

export type Rate = { readonly low: number; readonly mid: number; readonly high: number }

/** Before any run: 0.37 to 12 /h at 15 degC are the 5 and 95 % points of the loops people build. */
const PRIOR_LOW_PER_H = 0.37
const PRIOR_HIGH_PER_H = 12
const PRIOR_MEAN = (Math.log(PRIOR_LOW_PER_H) + Math.log(PRIOR_HIGH_PER_H)) / 2
const PRIOR_SD = (Math.log(PRIOR_HIGH_PER_H) - Math.log(PRIOR_LOW_PER_H)) / (2 * 1.645)

/** The prior counts as this many runs, and stays as one part in fifty for good: rigs change. */
const PRIOR_RUNS = 4
const PRIOR_REST = 0.02
/** Old runs fade: about the last 30 count. */
const RUNS_KEPT = 30
/** Points of one run are not independent (weather, films): together they count as at most so many. */
const POINTS_MAX = 10

function normalised(weights: number[]): number[] {
  let sum = 0
  for (const weight of weights) sum += weight
  return weights.map((weight) => weight / sum)
}

const PRIOR = normalised(
  RATES_PER_H.map((rate) => Math.exp(-0.5 * ((Math.log(rate) - PRIOR_MEAN) / PRIOR_SD) ** 2)),
)

export function startDryingPool(): DryingPool {
  return { share: [...PRIOR], runs: 0 }
}

/** What one run says, given the rig: the rate and the apparent floor with its standard error. */
export type DryingResult = { readonly kPerH: number; readonly floorGm3: number; readonly floorSeGm3: number }

/** Probability of each candidate for this run: the rig's share times how well the line fits. */
function posterior(
  pool: DryingPool,
  lines: readonly DryingLine[],
  points: number,
  sigmaGm3: number,
): number[] {
  const effective = Math.min(POINTS_MAX, points - 2)
  const noise = points * sigmaGm3 * sigmaGm3
  const logs = lines.map((line) =>
    line.rss === Number.MAX_VALUE ? -1e9 : -0.5 * effective * Math.log(line.rss + noise),
  )
  const top = Math.max(...logs)
  return normalised(
    logs.map((log, index) => {
      const share = (1 - PRIOR_REST) * (pool.share[index] ?? 0) + PRIOR_REST * (PRIOR[index] ?? 0)
      return Math.exp(log - top) * share + 1e-12
    }),
  )
}

/** Reads one run; `null` if no candidate can be told from another (flat, or too few points). */
export function readRun(
  pool: DryingPool,
  lines: readonly DryingLine[],
  points: number,
  sigmaGm3: number,
): (DryingResult & { readonly weights: readonly number[] }) | null {
  if (lines.every((line) => line.rss === Number.MAX_VALUE)) return null
  const weights = posterior(pool, lines, points, sigmaGm3)
  let logK = 0
  let floorGm3 = 0
  for (let index = 0; index < weights.length; index++) {
    const weight = weights[index] ?? 0
    logK += weight * Math.log(RATES_PER_H[index] ?? 1)
    floorGm3 += weight * (lines[index]?.floorGm3 ?? 0)
  }
  let variance = 0
  for (let index = 0; index < weights.length; index++) {
    const line = lines[index]
    if (line === undefined || line.floorVariance === Number.MAX_VALUE) continue
    variance += (weights[index] ?? 0) * ((line.floorGm3 - floorGm3) ** 2 + line.floorVariance)
  }
  return { kPerH: Math.exp(logK), floorGm3, floorSeGm3: Math.sqrt(variance), weights }
}

/** Lets a run that was read move the rig's share. */
export function poolRun(pool: DryingPool, weights: readonly number[]): void {
  pool.runs += 1
  const gain = 1 / Math.min(RUNS_KEPT, pool.runs + PRIOR_RUNS)
  for (let index = 0; index < pool.share.length; index++) {
    const share = pool.share[index] ?? 0
    pool.share[index] = share + gain * ((weights[index] ?? 0) - share)
  }
}

/** Quantile of the rig's rate, 1/h at 15 degC, between the candidates on a logarithmic line. */
function quantilePerH(pool: DryingPool, share: number): number {
  let sum = 0
  for (let index = 0; index < pool.share.length; index++) {
    const weight = pool.share[index] ?? 0
    if (sum + weight >= share) {
      const within = (share - sum) / weight - 0.5
      return (RATES_PER_H[index] ?? 1) * Math.SQRT2 ** within
    }
    sum += weight
  }
  return RATES_PER_H.at(-1) ?? PRIOR_HIGH_PER_H
}

/** Flow over volume, 1/h, where both are stated. */
export function exchangesPerH(loop: {
  readonly flowLPerMin: number | null
  readonly volumeL: number | null
}): number | null {
  const { flowLPerMin, volumeL } = loop
  return flowLPerMin === null || volumeL === null ? null : (60 * flowLPerMin) / volumeL
}

/**
 * Stated flow over stated volume bounds the rate from below: films hold at most twice the water of the air (a third of
 * the exchange is left), and an owner's flow is up to 1.7 times too high.
 */
const LEAST_OF_EXCHANGE = 0.2

/**
 * The rig's drying rate at 15 degC, 1/h: median with the 5 and 95 % points of its runs. `statedPerH` is flow over
 * volume as the owner states them; `null` if not stated.
 */
export function rigRate(pool: DryingPool, statedPerH: number | null): Rate {
  const leastPerH = LEAST_OF_EXCHANGE * (statedPerH ?? 0)
  const low = Math.max(leastPerH, quantilePerH(pool, 0.05))
  const mid = Math.max(low, quantilePerH(pool, 0.5))
  return { low, mid, high: Math.max(mid, quantilePerH(pool, 0.95)) }
}
