/** Quantile of an ascending list by linear interpolation (type 7 of Hyndman and Fan 1996); `null` if empty. */
export function quantileOfSorted(sorted: ArrayLike<number>, p: number): number | null {
  if (sorted.length === 0) return null
  const rank = p * (sorted.length - 1)
  const below = sorted[Math.floor(rank)]
  const above = sorted[Math.ceil(rank)]
  if (below === undefined || above === undefined) throw new RangeError(`quantile ${p} is outside 0..1`)
  return below + (above - below) * (rank - Math.floor(rank))
}

/** Quantile of a list in any order, which stays as it is; `null` if empty. */
export function quantile(values: readonly number[], p: number): number | null {
  return quantileOfSorted(new Float64Array(values).sort(), p)
}

/** Median; the mean of the two middle values for an even number; `null` if empty. */
export function median(values: readonly number[]): number | null {
  return quantile(values, 0.5)
}
