import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { weighByFloorCheck, weighByRise } from '../beads/ensemble-update.ts'
import { exchangesPerH, rigRate } from '../trace/drying-pool.ts'
import { sigmaPct } from '../trace/noise.ts'
import type { RunMemory, RunPoint } from '../trace/run.ts'
import { sensorSdPct } from './sensor-memory.ts'
import type { Work } from './work.ts'

/** A floor of one run, % RH, and its standard error. */
type FloorOfRun = { readonly floorPct: number; readonly sePct: number }

/** A fill's first floors are what later ones are compared with: the exit air is then as dry as the bake left it. */
const FRESH_FLOORS = 8
/** A floor known worse than this is no measure, % RH. */
const FRESH_SE_MAX_PCT = 3
/** Fresh floors before a rise can be told. */
const FRESH_MIN = 3

export function takeFreshFloor(work: Work, floor: FloorOfRun): void {
  const { fill } = work.memory.beads
  if (fill === null || fill.freshCount >= FRESH_FLOORS || floor.sePct > FRESH_SE_MAX_PCT) return
  fill.freshCount += 1
  fill.freshFloorPct += (floor.floorPct - fill.freshFloorPct) / fill.freshCount
}

/** A run this long shows its floor, h, and with it the exit air, whether or not anyone asked for a floor check. */
const LONG_RUN_H = 4
/** Time constants of the rig's slowest drying that have to be over. */
const LONG_RUN_CONSTANTS = 2
/** Films and oil lift the floor for days after a flight, s, by this much, % RH; a run of a day has outlasted most. */
const WET_FILMS_S = 4 * 86_400
const FILMS_PCT = 3
const FILMS_S = 86_400
/** Nothing is read off a hot engine, s. */
const HOT_S = 12 * 3600
const LONG_RUN_EVERY_S = 12 * 3600

function isTelling(work: Work, run: RunMemory, point: RunPoint): boolean {
  const { memory } = work
  const hours = (point.atS - run.peakAtS) / 3600
  if (hours < LONG_RUN_H || memory.gate.isOpen) return false
  const { flightAtS } = memory.log
  if (flightAtS !== null && point.atS - flightAtS < HOT_S) return false
  return hours * rigRate(memory.drying, exchangesPerH(work.settings)).low * point.scale >= LONG_RUN_CONSTANTS
}

/** What wet films may still add, % RH, one standard deviation. */
function filmsPct(work: Work, run: RunMemory, atS: number): number {
  const { flightAtS } = work.memory.log
  if (flightAtS === null || atS - flightAtS > WET_FILMS_S) return 0
  return FILMS_PCT * Math.exp(-(atS - run.peakAtS) / FILMS_S)
}

/** A run that goes on and on is a floor check that nobody asked for: it ends up at what the beads send back. */
export function takeLongRun(work: Work, run: RunMemory, point: RunPoint): void {
  const { memory } = work
  const { fill } = memory.beads
  if (fill === null || fill.ensemble === null) return
  if (fill.longRunAtS !== null && point.atS - fill.longRunAtS < LONG_RUN_EVERY_S) return
  if (!isTelling(work, run, point)) return
  fill.longRunAtS = point.atS
  fill.left = null
  const { tempC } = point
  const pct = (100 * point.densityGm3) / heldSaturationGm3(tempC)
  const sePct = Math.hypot(sigmaPct(memory.noise), filmsPct(work, run, point.atS))
  if (fill.freshCount >= FRESH_MIN) {
    weighByRise(fill.ensemble, { risePct: pct - fill.freshFloorPct, sePct, tempC })
    return
  }
  const sensorPct = sensorSdPct(memory.sensor, point.humidityPct, point.atS)
  weighByFloorCheck(fill.ensemble, { pct, sePct, sensorSdPct: sensorPct, tempC })
}
