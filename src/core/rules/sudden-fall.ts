import { median } from '../stats/quantile.ts'

/** What one run showed: when it ended, s; the value; its own error; how long the engine had then been dry, days; degC. */
export type RunValue = [atS: number, value: number, se: number, dryDays: number, tempC: number]

/** Runs compared on either side: the middle of four does not follow one odd run. */
export const RUNS = 4

const DAY_S = 86_400
/** Runs further apart belong to another season. */
const NEAR_S = 42 * DAY_S
/**
 * Films and oil give a flight's water back for weeks: runs that were looked at soon after one are longer than those before the
 * next. The earlier runs have had at least so much of the later ones' time to dry.
 */
const DRY_SHARE = 0.75
/** Standard error of a median of normal values, over that of their mean. */
const MEDIAN_ERROR = 1.25

/** How values of one kind scatter. */
export type Scatter = {
  /** From run to run before the rig's own have shown it, one standard deviation, as if seen in `priorRuns`. */
  readonly prior: number
  readonly priorRuns: number
  /** What runs of the same days share and the middle of them does not lose. */
  readonly common: number
  /** What a degree between the two times leaves unsure. */
  readonly perC: number
}

export type Fall = { readonly before: number; readonly after: number; readonly se: number }

const mean = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length

function squaresAbout(values: readonly number[]): number {
  const middle = mean(values)
  return values.reduce((sum, value) => sum + (value - middle) ** 2, 0)
}

const column = (runs: readonly RunValue[], index: 1 | 2 | 3 | 4): number[] => runs.map((run) => run[index])

/** Middle of an even or odd number of values that are there. */
const middleOf = (values: readonly number[]): number => median(values) ?? 0

/**
 * The middle of the four runs before `atS` and of the first four after it, and the standard error of their difference from the scatter
 * of these very runs. Made once for each `atS`, when the fourth run has ended; `null` before and after that, and where the runs
 * before are too few, too old or too soon after a flight to be compared.
 */
export function fallAt(runs: readonly RunValue[], atS: number, scatter: Scatter): Fall | null {
  const after = runs.filter(([endS]) => endS > atS)
  if (after.length !== RUNS) return null
  const lastS = after.at(-1)?.[0] ?? atS
  const before = runs.filter(([endS]) => endS <= atS && endS > lastS - NEAR_S).slice(-RUNS)
  if (before.length < RUNS) return null
  if (middleOf(column(before, 3)) < DRY_SHARE * middleOf(column(after, 3))) return null
  const [b, a] = [column(before, 1), column(after, 1)]
  const squares = squaresAbout(b) + squaresAbout(a) + scatter.priorRuns * scatter.prior ** 2
  const variance = squares / (2 * RUNS - 2 + scatter.priorRuns)
  const own = MEDIAN_ERROR * Math.sqrt((2 * variance) / RUNS)
  const season = scatter.perC * (mean(column(after, 4)) - mean(column(before, 4)))
  const se = Math.hypot(
    own,
    Math.SQRT2 * scatter.common,
    season,
    middleOf(column(before, 2)),
    middleOf(column(after, 2)),
  )
  return { before: middleOf(b), after: middleOf(a), se }
}
