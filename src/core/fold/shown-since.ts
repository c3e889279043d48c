type Point = readonly [atS: number, humidityPct: number, densityGm3: number]

/** When a value was first shown that a hub may have shown again and again, s. */
export function firstShownS(trail: readonly Point[], last: Point): number {
  let firstS = last[0]
  for (let index = trail.indexOf(last) - 1; trail[index]?.[1] === last[1]; index--)
    firstS = trail[index]?.[0] ?? firstS
  return firstS
}

/** A sensor that steps goes through its steps at rest; a value so many of them from the last was not read in between. */
const SKIPPED_STEPS = 1.5

/**
 * Since when a hub has shown the value of `last` for want of a newer one, s: what it hid lies anywhere from there. A sensor in
 * whole percents may have read the same again and again: then it was new as late as `last` itself.
 */
export function hiddenSinceS(trail: readonly Point[], last: Point, stepPct: number): number {
  const firstS = firstShownS(trail, last)
  const before = trail.findLast(([atS]) => atS < firstS)
  const isSkipped = before !== undefined && Math.abs(last[1] - before[1]) > SKIPPED_STEPS * stepPct
  return isSkipped ? firstS : last[0]
}
