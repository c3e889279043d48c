import { mannKendall } from '../stats/mann-kendall.ts'
import { median } from '../stats/quantile.ts'
import { rounded } from '../stats/rounded.ts'
import { theilSen } from '../stats/theil-sen.ts'

const DAY_S = 86_400
/** One value for three days: neighbouring runs share their weather, and the test supposes independent values. */
const SPAN_S = 3 * DAY_S
/** Spans kept, four months: what came before says little about what the beads do now. */
const SPANS_MAX = 40
/** Decimals kept of a floor, % RH: a tenth of the finest sensor's step. */
const DECIMALS = 3
/** Runs kept of the span that is open. */
const RUNS_MAX = 64
/** Fewer medians than this support no confidence limits: three weeks. */
const SPANS_MIN = 7

/** Apparent floors of this fill's runs as medians of three days. Bounded. */
export type FloorTrendMemory = {
  /** Number of the span since 1970, median of its floors, % RH; oldest first. */
  medians: [span: number, floorPct: number][]
  span: number
  /** Floors of the open span, % RH. */
  open: number[]
}

/** How the floor that runs head for has moved, described and never judged: retested each cycle every healthy rig would alarm. */
export type FloorTrend = {
  /** Start of the first and end of the last span, Unix s. */
  readonly fromS: number
  readonly toS: number
  /** Theil-Sen slope, % RH a week, with its 95 % confidence limits. */
  readonly pctPerWeek: { readonly low: number; readonly mid: number; readonly high: number }
  /** Mann-Kendall: how often medians in random order would show as clear an order, two-sided. */
  readonly chance: number
}

export function startFloorTrend(): FloorTrendMemory {
  return { medians: [], span: 0, open: [] }
}

function closeSpan(memory: FloorTrendMemory): void {
  const middle = median(memory.open)
  memory.open = []
  if (middle === null) return
  memory.medians.push([memory.span, rounded(middle, DECIMALS)])
  if (memory.medians.length > SPANS_MAX) memory.medians.shift()
}

/** Takes the apparent floor of a run that ended at `atS` (Unix s), % RH. */
export function takeFloor(memory: FloorTrendMemory, atS: number, floorPct: number): void {
  const span = Math.floor(atS / SPAN_S)
  if (span !== memory.span) {
    closeSpan(memory)
    memory.span = span
  }
  if (memory.open.length < RUNS_MAX) memory.open.push(rounded(floorPct, DECIMALS))
}

/** The sensor is known better: all floors so far lie elsewhere by so much, % RH. */
export function shiftFloors(memory: FloorTrendMemory, byPct: number): void {
  memory.medians = memory.medians.map(([span, floorPct]) => [span, rounded(floorPct + byPct, DECIMALS)])
  memory.open = memory.open.map((floorPct) => rounded(floorPct + byPct, DECIMALS))
}

/** The trend of the closed spans; `null` for fewer than seven, or where they support no limits. Changes nothing. */
export function floorTrend(memory: FloorTrendMemory): FloorTrend | null {
  const { medians } = memory
  const first = medians[0]
  const last = medians.at(-1)
  if (first === undefined || last === undefined || medians.length < SPANS_MIN) return null
  const weeks = medians.map(([span]) => (span * SPAN_S) / (7 * DAY_S))
  const floors = medians.map(([, floorPct]) => floorPct)
  const slope = theilSen(weeks, floors)
  const test = mannKendall(weeks, floors)
  if (slope === null || slope.low === null || slope.high === null || test === null) return null
  return {
    fromS: first[0] * SPAN_S,
    toS: (last[0] + 1) * SPAN_S,
    pctPerWeek: { low: slope.low, mid: slope.slope, high: slope.high },
    chance: test.pTwoSided,
  }
}
