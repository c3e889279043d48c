import { type Causes, floorCauses } from '../beads/floor-causes.ts'
import { freshExitPct } from '../beads/ensemble.ts'
import { DESORPTION_PCT, liftOfRatio } from '../beads/ensemble-update.ts'
import { slopeOf } from '../stats/line-fit.ts'
import { ingressChange } from '../trace/ingress.ts'
import { marksOf } from '../trace/run.ts'
import type { FillMemory } from './fill-memory.ts'
import { sensorSdPct } from './sensor-memory.ts'
import type { Work } from './work.ts'

const DAY_S = 86_400
/** A salt check this old says nothing of a floor that rises now, s. */
const CHECKED_S = 30 * DAY_S
/** Floors before their slope on the hangar's air is one. */
const SLOPE_FLOORS = 14
/** First floors of a fill before a rise from them is one. */
const FRESH_MIN = 3

/** How far the floor has risen, % RH: as the runs' times say, else their floors; half of `stop` where neither does. */
function liftPct({ memory, settings }: Work, fill: FillMemory, tempC: number): number {
  const { now } = memory.runTime
  const { stopPct } = settings.band
  if (now !== null && now.ln > 0) {
    const exitPct = fill.ensemble === null ? 0 : freshExitPct(fill.ensemble, tempC)
    return liftOfRatio(marksOf(settings.band), exitPct + DESORPTION_PCT, now.ln)
  }
  const risePct = memory.floor.meanPct - fill.freshFloorPct
  return fill.freshCount >= FRESH_MIN && memory.floor.runs > 0 ? Math.max(0.5, risePct) : stopPct / 2
}

/** What has lifted the floor of the runs, if anything has. `null` while no beads are known to be in the column. */
export function causesOf(work: Work): Causes | null {
  const { memory, settings, gridS } = work
  const { fill } = memory.beads
  if (fill === null) return null
  const tempC = memory.beads.tempC ?? 15
  const { stopPct } = settings.band
  const slope = slopeOf(fill.floorOnAmbient)
  const inFill = (seen: { atS: number; pct: number } | null): number | null =>
    seen !== null && seen.atS > fill.fromS ? seen.pct : null
  const checkedS = memory.sensor.points.at(-1)?.atS ?? 0
  const flightAtS = memory.log.flightAtS
  return floorCauses({
    ensemble: fill.ensemble,
    days: (gridS - fill.fromS) / DAY_S,
    stopPct,
    tempC,
    liftPct: liftPct(work, fill, tempC),
    ingressLn: ingressChange(memory.ingress, flightAtS === null ? null : (gridS - flightAtS) / DAY_S),
    slope:
      slope === null || fill.floorOnAmbient[0] < SLOPE_FLOORS
        ? null
        : { ...slope, ambientPct: fill.floorOnAmbient[1] },
    loopTestPct: inFill(memory.lastLoopTest),
    floorCheckPct: inFill(memory.lastFloorCheck),
    sensor: {
      sdPct: sensorSdPct(memory.sensor, stopPct, gridS),
      isChecked: checkedS > Math.max(fill.fromS, gridS - CHECKED_S),
    },
  })
}
