import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { dryingLines } from '../trace/drying-fit.ts'
import { poolRun, readRun } from '../trace/drying-pool.ts'
import { sigmaPct } from '../trace/noise.ts'
import { takeFloor } from '../trace/floor-trend.ts'
import { takePoint } from '../stats/line-fit.ts'
import type { RunMemory } from '../trace/run.ts'
import { ambientAt } from './ambient.ts'
import type { Work } from './work.ts'

/** Old floors fade: about the last ten runs count. */
const FLOOR_RUNS = 10
/** A floor known worse than this teaches the rig's floor nothing, % RH. */
const FLOOR_SE_MAX_PCT = 3
/** Noise of one vapour density, g/m3: the sensor's, and 3 % of the value for what a single exponential leaves out. */
function noiseGm3(work: Work, tempC: number, densityGm3: number): number {
  return Math.hypot((sigmaPct(work.memory.noise) / 100) * heldSaturationGm3(tempC), 0.03 * densityGm3)
}

export type Floor = { kPerH: number; floorPct: number; sePct: number }

/** Reads the curve of a run as far as it goes; the rig learns from it if `isLearning`. */
export function readFloor(work: Work, run: RunMemory, tempC: number, isLearning: boolean): Floor | null {
  const { memory } = work
  const sigma = noiseGm3(work, tempC, run.lowGm3)
  const lines = dryingLines(run.drying, sigma)
  if (lines === null || run.peakGm3 - run.lowGm3 < 5 * sigma) return null
  const result = readRun(memory.drying, lines, run.drying.n, sigma)
  if (result === null) return null
  const toPct = 100 / heldSaturationGm3(tempC)
  const floor = { kPerH: result.kPerH, floorPct: result.floorGm3 * toPct, sePct: result.floorSeGm3 * toPct }
  if (!isLearning) return floor
  poolRun(memory.drying, result.weights)
  if (floor.sePct > FLOOR_SE_MAX_PCT) return floor
  const pool = memory.floor
  pool.runs += 1
  const gain = 1 / Math.min(FLOOR_RUNS, pool.runs)
  const off = floor.floorPct - pool.meanPct
  pool.meanPct += gain * off
  pool.variance = (1 - gain) * (pool.variance + gain * off * off) + gain * floor.sePct * floor.sePct
  return floor
}

/** A fill's first floors are what later ones are compared with: the exit air is then as dry as the bake left it. */
const FRESH_FLOORS = 8
/** A floor known worse than this is no measure, % RH. */
const FRESH_SE_MAX_PCT = 3

/** An ordinary run's floor joins the fill's trend, and the first ones what it is compared with. `atS`: its end, s; `tempC`: its mean. */
export function takeFillFloor(work: Work, floor: Floor, run: { atS: number; tempC: number }): void {
  const { memory, settings } = work
  const { fill } = memory.beads
  if (fill === null || floor.sePct > FRESH_SE_MAX_PCT) return
  takeFloor(fill.floors, run.atS, floor.floorPct)
  const ambient = ambientAt(memory, settings, run.atS)
  if (ambient.isMeasured) {
    const ambientPct = (100 * ambient.densityGm3) / heldSaturationGm3(run.tempC)
    takePoint(fill.floorOnAmbient, ambientPct, floor.floorPct)
  }
  if (fill.freshCount >= FRESH_FLOORS) return
  fill.freshCount += 1
  fill.freshFloorPct += (floor.floorPct - fill.freshFloorPct) / fill.freshCount
}
