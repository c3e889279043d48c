import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { quantileOfSorted } from '../stats/quantile.ts'
import { rounded } from '../stats/rounded.ts'

/**
 * The run-time ratio: how much longer the same fall of humidity takes than at the start of this fill. It sees a rising
 * floor that the controller hides by always stopping at `stop`, and does so at ten-minute hubs too, because it needs
 * two crossings and no curve.
 */
export type Timed = [atS: number, logMinutes: number, warmthC: number, isDry: 0 | 1]
/** A run of the reference: when it was no longer matters. */
export type ReferenceRun = [logMinutes: number, warmthC: number]

/** ln of a run-time ratio and its standard error. */
export type NowRatio = { readonly ln: number; readonly sd: number }

export type RunTimeMemory = {
  /** First runs of this fill: the reference. */
  first: ReferenceRun[]
  /** Latest runs. */
  last: Timed[]
  fillFromS: number
  referenceLog: number | null
  ratio: number | null
  /** Standard error of ln of the ratio: the scatter of this rig's own runs, and the season that lies between. */
  ratioLnSd: number | null
  /** ln of the same over the last days alone, with its error: noisier, but not two weeks late. For weighing, not for alarms. */
  now: NowRatio | null
  /** Sums behind the learned temperature slope: of dT^2 and dT d(ln t) between neighbouring runs. */
  tempSquares: number
  tempCross: number
}

const DAY_S = 86_400
const WINDOW_S = 14 * DAY_S
/** Rigs with few runs: the window widens until it holds eight, up to six weeks. */
const WINDOW_MAX_S = 42 * DAY_S
const RUNS_MIN = 8
/** Kept runs: 20 a week fill two weeks with 40; of more than 64 the newest say enough. */
const RUNS_MAX = 64
/** The 20 % quantile: stored water and leaks lengthen some runs, spent beads lengthen all. */
const SHARE = 0.2

/** Colder air carries less water at the same RH, so the same fall takes longer: ln t falls by 0.02 a degree at 15 degC, +-0.01. */
const PRIOR_SLOPE_PER_C = 0.02
/**
 * That is what walls and films make of it which hold so many times the water of the air itself at 15 degC: they go with RH, the air
 * that empties them with its saturated density, and t with 1 + ratio x saturation at 15 degC / saturation. The same law has 0.05
 * a degree at -10 degC and 0.01 at 30.
 */
const FILM_RATIO = 0.49
const PRIOR_SLOPE_SD = 0.01
/** Scatter of ln t between neighbouring runs. */
const LOG_SCATTER = 0.4

/** The newest runs that say how long runs are now, and all of as many days: one odd day is not the beads. */
const NOW_RUNS = 4
const NOW_S = 3 * DAY_S
/** Standard error of the 20 % quantile of n normal values, over sigma/sqrt(n): sqrt(0.2 x 0.8) / phi(-0.84). */
const QUANTILE_ERROR = 1.43
/** A rig's own scatter of ln t before its runs have shown it, as if seen in so many: some rigs repeat within 5 %, some by half. */
const SCATTER_PRIOR = 0.25
const SCATTER_PRIOR_RUNS = 4
/** What does not average over runs of the same days, ln: films' water, the weather of the week. */
const COMMON_SD = 0.1
/**
 * Neighbouring runs teach what noon and morning do, not what summer and winter do: films and oil follow a day by a part and a
 * season wholly. Between weeks that differ the slope is unsure by about as much as it is.
 */
const SEASON_SLOPE_SD = 0.015
const REFERENCE_C = 15
const lnFilms = (tempC: number): number =>
  Math.log(1 + (FILM_RATIO * heldSaturationGm3(REFERENCE_C)) / heldSaturationGm3(tempC))

/** A temperature by what it does to the time of a fall: so many degrees of the slope at 15 degC. */
export const warmthC = (tempC: number): number =>
  REFERENCE_C + (lnFilms(REFERENCE_C) - lnFilms(tempC)) / PRIOR_SLOPE_PER_C

const PRIOR_WEIGHT = (LOG_SCATTER / PRIOR_SLOPE_SD) ** 2

export function startRunTime(fillFromS: number): RunTimeMemory {
  return {
    first: [],
    last: [],
    fillFromS,
    referenceLog: null,
    ratio: null,
    ratioLnSd: null,
    now: null,
    tempSquares: 0,
    tempCross: 0,
  }
}

/** A new fill: the reference starts again, the learned slope stays with the rig. */
export function startFillRunTime(memory: RunTimeMemory, fillFromS: number): void {
  memory.first = []
  memory.last = []
  memory.fillFromS = fillFromS
  memory.referenceLog = null
  memory.ratio = null
  memory.ratioLnSd = null
  memory.now = null
}

/** Change of ln t per degree of warmth, as a positive number for a fall with temperature. */
export function tempSlopePerC(memory: RunTimeMemory): number {
  return (PRIOR_SLOPE_PER_C * PRIOR_WEIGHT - memory.tempCross) / (PRIOR_WEIGHT + memory.tempSquares)
}

const atTemp15 = (logMinutes: number, warmth: number, slope: number): number =>
  logMinutes + slope * (warmth - REFERENCE_C)

/** ln of the minutes of one run as it would have taken at 15 degC, by the slope learned so far. */
export function lnMinutesAt15(memory: RunTimeMemory, minutes: number, tempC: number): number {
  return rounded(atTemp15(Math.log(Math.max(0.5, minutes)), warmthC(tempC), tempSlopePerC(memory)), 4)
}

/** Runs of one time: ln t at 15 degC, ascending, and their mean warmth, degC. */
type Sorted = { readonly logs: Float64Array; readonly meanC: number }

function sortedAt15(runs: readonly (Timed | ReferenceRun)[], slope: number): Sorted {
  const logs = new Float64Array(runs.length)
  let sumC = 0
  let count = 0
  for (const run of runs) {
    const warmth = run.length === 4 ? run[2] : run[1]
    logs[count] = atTemp15(run.length === 4 ? run[1] : run[0], warmth, slope)
    count += 1
    sumC += warmth
  }
  return { logs: logs.sort(), meanC: sumC / Math.max(1, runs.length) }
}

const lowOf = ({ logs }: Sorted): number => quantileOfSorted(logs, SHARE) ?? 0

/** The runs of the last two weeks, or as many more as make eight, up to six weeks; `null` for fewer. */
function recentRuns(all: readonly Timed[], atS: number): Timed[] | null {
  const runs = all.filter(([, , , isDry]) => isDry === 1)
  const recent = runs.filter(([runS]) => runS > atS - WINDOW_S)
  if (recent.length >= RUNS_MIN) return recent
  const newest = runs.slice(-RUNS_MIN).filter(([runS]) => runS > atS - WINDOW_MAX_S)
  return newest.length < RUNS_MIN ? null : newest
}

/** When the newest run ended that no flight's water lengthened, Unix s; `null` without any. */
export function newestDryS({ last }: Pick<RunTimeMemory, 'last'>): number | null {
  return last.findLast((run) => run[3] === 1)?.[0] ?? null
}

function takeSlope(memory: RunTimeMemory, run: Timed): void {
  const before = memory.last.at(-1)
  if (before === undefined || run[0] - before[0] > 4 * DAY_S) return
  const rise = run[2] - before[2]
  memory.tempSquares += rise * rise
  memory.tempCross += rise * Math.max(-1, Math.min(1, run[1] - before[1]))
}

/**
 * Takes the minutes one run needed between the two fixed readings, and its temperature, degC. `isDry`: no flight's water is
 * left in films and oil to lengthen it.
 */
export function takeRunTime(
  memory: RunTimeMemory,
  atS: number,
  minutes: number,
  tempC: number,
  isDry = true,
): void {
  const logMinutes = rounded(Math.log(Math.max(0.5, minutes)), 4)
  const run: Timed = [Math.round(atS), logMinutes, rounded(warmthC(tempC), 2), isDry ? 1 : 0]
  takeSlope(memory, run)
  const isReference =
    memory.referenceLog === null || (atS - memory.fillFromS <= WINDOW_S && memory.first.length < RUNS_MAX)
  // A wet engine fills its box within the hour, and a box alone is dried in minutes: short runs are no reference either.
  if (isReference && isDry && memory.first.length < RUNS_MAX) memory.first.push([run[1], run[2]])
  memory.last.push(run)
  while (memory.last.length > RUNS_MAX || (memory.last[0]?.[0] ?? atS) < atS - WINDOW_MAX_S)
    memory.last.shift()
  const isWhole = atS - memory.fillFromS >= WINDOW_S
  const slope = tempSlopePerC(memory)
  const reference = isWhole ? sortedAt15(memory.first, slope) : null
  memory.referenceLog = reference === null || reference.logs.length < RUNS_MIN ? null : lowOf(reference)
  takeRatio(memory, memory.referenceLog === null ? null : reference, { atS, slope })
  memory.now = reference === null ? null : nowRatio(memory, reference, { atS, slope })
}

function takeRatio(
  memory: RunTimeMemory,
  reference: Sorted | null,
  { atS, slope }: { readonly atS: number; readonly slope: number },
): void {
  const runs = reference === null ? null : recentRuns(memory.last, atS)
  memory.ratio = null
  memory.ratioLnSd = null
  if (reference === null || runs === null) return
  const recent = sortedAt15(runs, slope)
  memory.ratio = Math.exp(lowOf(recent) - lowOf(reference))
  memory.ratioLnSd = rounded(ratioLnSd(reference, recent), 4)
}

/** Variance of ln t about this rig's own, from its reference: the distance of two quantiles is that of 1.68 sigma. */
function ownVariance(sorted: ArrayLike<number>): number {
  const wide = (quantileOfSorted(sorted, 1 - SHARE) ?? 0) - (quantileOfSorted(sorted, SHARE) ?? 0)
  const prior = SCATTER_PRIOR_RUNS * SCATTER_PRIOR ** 2
  return (prior + sorted.length * (wide / 1.683) ** 2) / (SCATTER_PRIOR_RUNS + sorted.length)
}

/** Standard error of the distance between the low quantiles of two times, ln. */
function ratioLnSd(reference: Sorted, recent: Sorted): number {
  const each = 1 / reference.logs.length + 1 / recent.logs.length
  const season = SEASON_SLOPE_SD * (recent.meanC - reference.meanC)
  return Math.hypot(QUANTILE_ERROR * Math.sqrt(ownVariance(reference.logs) * each), season)
}

/** How the newest runs compare with the reference, with the error that this rig's own scatter gives both. */
function nowRatio(
  { fillFromS, last }: RunTimeMemory,
  reference: Sorted,
  { atS, slope }: { readonly atS: number; readonly slope: number },
): NowRatio | null {
  // Of a few days' runs the low quantile is no shelter from a flight: all of them have its water to carry.
  const dry = last.filter(([runS, , , isDry]) => isDry === 1 && runS > fillFromS)
  const runs = dry.filter(([runS], index) => index >= dry.length - NOW_RUNS || runS > atS - NOW_S)
  if (reference.logs.length < NOW_RUNS || runs.length < NOW_RUNS) return null
  const now = sortedAt15(runs, slope)
  const ln = lowOf(now) - lowOf(reference)
  return { ln: rounded(ln, 4), sd: rounded(Math.hypot(COMMON_SD, ratioLnSd(reference, now)), 4) }
}
