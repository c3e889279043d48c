import { TREND_POINTS_MAX, mannKendall } from './mann-kendall.ts'
import { normalQuantile } from './normal.ts'
import { median, quantileOfSorted } from './quantile.ts'

export type Slope = {
  /** Median of all pairwise slopes, y per x. */
  readonly slope: number
  /** Median y less slope times median x (Conover). */
  readonly intercept: number
  /** Confidence limits of the slope; `null` where too few points support them. */
  readonly low: number | null
  readonly high: number | null
}

/** The value at a rank counted from 1, between two ranks in proportion; `null` beyond the ends. */
function valueAtRank(sorted: Float64Array, rank: number): number | null {
  const below = sorted[Math.floor(rank) - 1]
  const above = sorted[Math.ceil(rank) - 1]
  if (below === undefined || above === undefined) return null
  return below + (above - below) * (rank - Math.floor(rank))
}

/**
 * Theil-Sen slope with Gilbert's (1987, ch. 16) confidence limits at `confidence`, from the tie-corrected variance of
 * Kendall's S. `null` for fewer than 3 or more than 1000 points, or if all x are equal.
 */
export function theilSen(xs: readonly number[], ys: readonly number[], confidence = 0.95): Slope | null {
  const n = xs.length
  if (n !== ys.length || n < 3 || n > TREND_POINTS_MAX) return null
  const slopes: number[] = []
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const dx = (xs[j] ?? 0) - (xs[i] ?? 0)
      if (dx !== 0) slopes.push(((ys[j] ?? 0) - (ys[i] ?? 0)) / dx)
    }
  }
  const sorted = Float64Array.from(slopes).sort()
  const slope = quantileOfSorted(sorted, 0.5)
  const middleX = median(xs)
  const middleY = median(ys)
  const trend = mannKendall(xs, ys)
  if (slope === null || middleX === null || middleY === null || trend === null) return null
  const reach = normalQuantile(0.5 + confidence / 2) * Math.sqrt(trend.variance)
  return {
    slope,
    intercept: middleY - slope * middleX,
    low: valueAtRank(sorted, (sorted.length - reach) / 2),
    high: valueAtRank(sorted, (sorted.length + reach) / 2 + 1),
  }
}
