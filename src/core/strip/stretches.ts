/** Gaps and pump runs of a trace as it is drawn. The analysis has its own, streaming; these serve the chart alone. */

export type Stretch = { readonly fromS: number; readonly toS: number }

/** A gap is never shorter than this, however often a hub reports, s. */
const GAP_MIN_S = 20 * 60

/**
 * Longest spacing that is no gap: three times the 99th percentile of the spacings, at least 20 minutes. `timesS` sorted.
 * With fewer than 10 spacings the percentile says nothing: then `expectedS` alone counts.
 */
export function gapMaxS(timesS: readonly number[], expectedS: number): number {
  const spacings = timesS.slice(1).map((atS, index) => atS - (timesS[index] ?? atS))
  if (spacings.length < 10) return Math.max(GAP_MIN_S, 3 * expectedS)
  spacings.sort((a, b) => a - b)
  const usual = spacings[Math.floor(0.99 * (spacings.length - 1))] ?? expectedS
  // The gaps looked for are among the spacings: where they are many, the median keeps them from hiding themselves.
  const median = spacings[Math.floor(0.5 * (spacings.length - 1))] ?? expectedS
  return Math.max(GAP_MIN_S, 3 * Math.max(expectedS, Math.min(usual, 4 * median)))
}

/** Stretches of [fromS, toS) without a reading for longer than `longestS`. */
export function gapsIn(timesS: readonly number[], span: Stretch, longestS: number): readonly Stretch[] {
  const gaps: Stretch[] = []
  let lastS = span.fromS
  for (const atS of [...timesS, span.toS]) {
    if (atS - lastS > longestS) gaps.push({ fromS: lastS, toS: atS })
    lastS = atS
  }
  return gaps
}

/** Runs from reported pump states: from the first "on" to the first "off" or to a gap. */
export function runsIn(
  reports: readonly { readonly atS: number; readonly pumpOn: boolean | null }[],
  longestS: number,
): readonly Stretch[] {
  const runs: Stretch[] = []
  let fromS: number | null = null
  let lastS = 0
  for (const { atS, pumpOn } of reports) {
    const isGap = fromS !== null && atS - lastS > longestS
    if (fromS !== null && (isGap || pumpOn === false)) {
      runs.push({ fromS, toS: isGap ? lastS : atS })
      fromS = null
    }
    if (pumpOn === true) fromS ??= atS
    lastS = atS
  }
  if (fromS !== null) runs.push({ fromS, toS: lastS })
  return runs
}

/** Those that no known one overlaps. Both in the order of their time. */
export function outside(stretches: readonly Stretch[], known: readonly Stretch[]): readonly Stretch[] {
  const found: Stretch[] = []
  let next = 0
  for (const stretch of stretches) {
    while ((known[next]?.toS ?? Number.POSITIVE_INFINITY) <= stretch.fromS) next += 1
    if ((known[next]?.fromS ?? Number.POSITIVE_INFINITY) >= stretch.toS) found.push(stretch)
  }
  return found
}
