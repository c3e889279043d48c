/** One step of an exponentially weighted mean with weight `weight` (0..1) on the new value. */
export function ewmaStep(mean: number, value: number, weight: number): number {
  return mean + weight * (value - mean)
}

/**
 * Half width of the EWMA control limits: `reach` standard deviations of the mean, settled, or after `steps` values.
 * NIST/SEMATECH e-Handbook 6.3.2.4.
 */
export function ewmaHalfWidth(chart: {
  readonly sd: number
  readonly weight: number
  readonly reach: number
  readonly steps?: number
}): number {
  const settled = chart.weight / (2 - chart.weight)
  const share = chart.steps === undefined ? 1 : 1 - (1 - chart.weight) ** (2 * chart.steps)
  return chart.reach * chart.sd * Math.sqrt(settled * share)
}

/** One step of a one-sided tabular CUSUM: what `excess` (value less target) adds beyond the slack. NIST e-Handbook 6.3.2.3. */
export function cusumStep(sum: number, excess: number, slack: number): number {
  return Math.max(0, sum + excess - slack)
}
