import { weighByExit, weighByRise } from '../beads/ensemble-update.ts'
import { exchangesPerH, rigRate } from '../trace/drying-pool.ts'
import type { RunMemory, RunPoint } from '../trace/run.ts'
import { sensorSdPct } from './sensor-memory.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { sigmaPct } from '../trace/noise.ts'
import { takenG } from './fill.ts'
import { readFloor } from './read-floor.ts'
import { wetShare } from './wet-engine.ts'
import type { Work } from './work.ts'

/** Fresh floors before a rise can be told. */
const FRESH_MIN = 3

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

/** A curve that is still falling shows its end no better than this, % RH, or not at all. */
const END_SE_MAX_PCT = 2

/**
 * Where a long run ends up, % RH. While it falls, what the curve heads for: a wet engine that still dries is not mistaken
 * for wet beads. Once it stands or climbs, the reading: beads that break through send ever wetter air.
 */
function endOfRun(work: Work, run: RunMemory, point: RunPoint): { floorPct: number; sePct: number } | null {
  const { memory } = work
  const saturatedGm3 = heldSaturationGm3(point.tempC)
  const reading = { floorPct: (100 * point.densityGm3) / saturatedGm3, sePct: sigmaPct(memory.noise) }
  if (!run.isFalling) return reading
  const floor = readFloor(work, run, point.tempC, false)
  if (floor === null) return reading
  if (reading.floorPct - floor.floorPct < 1) return reading
  return floor.sePct <= END_SE_MAX_PCT ? floor : null
}

/** A run that goes on and on is a floor check that nobody asked for: it ends up at what the beads send back. */
export function takeLongRun(work: Work, run: RunMemory, point: RunPoint): void {
  const { memory } = work
  const { fill } = memory.beads
  if (fill === null || fill.ensemble === null) return
  if (fill.longRunAtS !== null && point.atS - fill.longRunAtS < LONG_RUN_EVERY_S) return
  if (!isTelling(work, run, point)) return
  const { tempC } = point
  const floor = endOfRun(work, run, point)
  if (floor === null) return
  fill.longRunAtS = point.atS
  const pct = floor.floorPct
  const sePct = Math.hypot(floor.sePct, filmsPct(work, run, point.atS))
  // The loop gets no lower than this: for the rig that is where its beads are used up, whatever the sensor is off.
  if (pct - sePct > work.settings.band.stopPct) fill.overAtG ??= takenG(fill)
  const wet = wetShare(memory, run.fromS, point.atS)
  fill.isFloorUnsure = wet > 0
  if (fill.freshCount >= FRESH_MIN) {
    weighByRise(fill.ensemble, { risePct: pct - fill.freshFloorPct, sePct, tempC, wetShare: wet })
    return
  }
  const sensorPct = sensorSdPct(memory.sensor, point.humidityPct, point.atS)
  weighByExit(fill.ensemble, 'floor', { pct, sePct, sensorSdPct: sensorPct, tempC, wetShare: wet })
}
