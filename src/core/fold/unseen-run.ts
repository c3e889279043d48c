import type { Sample } from '../rules/rule.ts'
import { exchangesPerH, rigRate } from '../trace/drying-pool.ts'
import { LN_FROM_PCT, type RunPoint, marksOf, takeRunPoint } from '../trace/run.ts'
import { canHaveEmptied } from './emptied.ts'
import { finishRun, takeEngineAir, waitForAir } from './close-run.ts'
import { moveAir } from './ledger.ts'
import { newRun } from './new-run.ts'
import { runPoint } from './run-point.ts'
import { firstShownS } from './shown-since.ts'
import type { Work } from './work.ts'

/** Of the band, from the upper quarter to the lower, within minutes: beads did that. */
const FALL_FROM_SHARE = 0.75
const FALL_TO_SHARE = 0.25

type Point = Work['memory']['trail'][number]

/** The last reading of the last twenty minutes from before such a fall; `null` if the air has not fallen. */
function beforeFall({ memory, settings }: Work, humidityPct: number): Point | null {
  const { stopPct, startPct } = settings.band
  if (humidityPct > stopPct + FALL_TO_SHARE * (startPct - stopPct)) return null
  const fromPct = stopPct + FALL_FROM_SHARE * (startPct - stopPct)
  return memory.trail.findLast(([, pct]) => pct >= fromPct) ?? null
}

/**
 * A strong pump may dry a small engine between two readings, and where its state is only inferred no run is seen. The air
 * came down all the same: a plateau after it is none of a flight before it.
 */
export function isAfterUnseenRun(
  work: Work,
  sample: { readonly atS: number; readonly humidityPct: number },
): boolean {
  const { log, unhooked, gate, trail } = work.memory
  if (gate.eligibleFromS === null || log.unansweredFlightAtS !== null || unhooked.sinceS !== null)
    return false
  const high = beforeFall(work, sample.humidityPct)
  if (high === null || high[0] < gate.eligibleFromS) return false
  // Between those two readings it ran; the low one may be minutes old by now.
  const lowAtS = trail[trail.indexOf(high) + 1]?.[0] ?? sample.atS
  return canHaveEmptied(work.settings, lowAtS - high[0])
}

/** How long the rig takes from one reading down to the other at its own rate, s. */
function dryingS({ memory, settings }: Work, fromPct: number, { humidityPct, scale }: RunPoint): number {
  const perH = rigRate(memory.drying, exchangesPerH(settings)).mid * scale
  return (3600 * Math.log(fromPct / Math.max(LN_FROM_PCT, humidityPct))) / perH
}

/**
 * Takes that run into the books once a second reading, no lower, shows that it is over and no glitch. It lay between the last
 * high value and the lowest, each when it was new, and took what this rig takes for that.
 */
export function takeUnseenRun(work: Work, sample: Sample): void {
  const { memory, settings } = work
  const { trail } = memory
  const low = trail.at(-1)
  if (low === undefined || sample.humidityPct === null || sample.humidityPct < low[1]) return
  const high = beforeFall(work, sample.humidityPct)
  if (high === null || high === low || high[0] < (memory.pump.sinceS ?? high[0])) return
  const toS = firstShownS(trail, low)
  const end = { ...sample, atS: toS, humidityPct: low[1], densityGm3: low[2] }
  const lowest = runPoint(work, end)
  if (lowest === null) return
  // Whole seconds, as all times are that leave the analysis; and no earlier than the rest that it ends.
  const ranS = Math.round(dryingS(work, high[1], lowest))
  const fromS = Math.max(firstShownS(trail, high), toS - ranS, memory.pump.sinceS ?? 0)
  const run = newRun(work, { fromS, basis: 'inferred', startPct: high[1], startGm3: high[2] })
  memory.pump.sinceS = fromS
  waitForAir(work, true)
  memory.run = run
  const begin = { ...sample, atS: fromS, humidityPct: high[1], densityGm3: high[2] }
  moveAir(work, begin, end)
  for (const point of [runPoint(work, begin), lowest]) {
    if (point === null) continue
    takeRunPoint(run, point, marksOf(settings.band), false)
    takeEngineAir(work, run, point)
  }
  // Its time is the rig's own, and says nothing of how long runs have become.
  run.minutes = null
  finishRun(work, run, toS)
  memory.run = null
  memory.pump.sinceS = toS
  work.isRigNew = true
}
