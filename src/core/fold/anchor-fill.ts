import { DESORPTION_PCT, liftOfRatio } from '../beads/ensemble-update.ts'
import { type EnsembleMemory, exitPct, freshExitPct, startEnsemble } from '../beads/ensemble.ts'
import { type Pace, runMembers } from '../beads/forecast.ts'
import { type FillEnd, holdsAfter, nextFillSd } from '../beads/holds.ts'
import { marksOf } from '../trace/run.ts'
import { loadOf, takenG } from './fill.ts'
import type { FillMemory } from './fill-memory.ts'
import { heldG, publishedG } from './held.ts'
import { capacityG, paceOf } from './step-forecast.ts'
import type { Known, Work } from './work.ts'

/** More likely than not the exit air has risen, by all that is known of the fill. */
const RISING_ODDS = 0.5
/**
 * Or by the newest runs: what floor-rising calls clean again lies below. They are as long some days after a flight, and a jar
 * baked then would count as used up for good: the runs of two weeks have to be longer too, by more than their error.
 */
const RISING_RATIO = 1.6
const RISING_WEEKS_RATIO = 1.2

function isRising(work: Known, fill: FillMemory): boolean {
  const { now, ratio } = work.memory.runTime
  if ((fill.odds?.front ?? 0) >= RISING_ODDS) return true
  return now !== null && now.ln > Math.log(RISING_RATIO) && ratio !== null && ratio > RISING_WEEKS_RATIO
}

/**
 * Less than this of what the published curve makes of its load is no load of beads: three deviations of what is not known of
 * one are a quarter, a mass stated at twice what it is an eighth. A `stop` below what fresh beads reach, or a leak, ended
 * those runs above it.
 */
const LEAST_SHARE = 0.1

/**
 * Of its capacity, what the published column has taken up when its exit is as wet as this one's: as the length of the newest runs has
 * it, or the columns, whichever is more, since dry runs show no flight's water. Beads are baked with a week in hand or
 * days after they were used up; "the last fifth" for both would make each fill of the second kind a tenth larger.
 */
function partOf(
  work: Known,
  fill: FillMemory,
  ensemble: EnsembleMemory,
  { pace, wholeG }: { readonly pace: Pace; readonly wholeG: number },
): number {
  const { bedTempC, stopPct } = pace
  const freshPct = freshExitPct(ensemble, bedTempC)
  const { now } = work.memory.runTime
  const liftPct =
    now === null ? 0 : liftOfRatio(marksOf(work.settings.band), freshPct + DESORPTION_PCT, now.ln)
  const seenPct = Math.max(freshPct + liftPct, exitPct(ensemble, bedTempC, stopPct))
  return publishedG(fill, { ...pace, stopPct: Math.min(stopPct, seenPct) }, 0) / wholeG
}

function endOf(work: Known, fill: FillMemory, ensemble: EnsembleMemory): FillEnd {
  const pace = paceOf(work)
  const wholeG = publishedG(fill, pace, 0)
  if (!(wholeG > 0)) return { share: 0, kind: 'no-sign' }
  const isOver = fill.overAtG !== null
  const share = (fill.overAtG ?? takenG(fill)) / (Math.exp(work.memory.beads.flowLn.mean) * wholeG)
  if (share < LEAST_SHARE) return { share, kind: 'no-sign' }
  if (isOver) return { share, kind: 'over' }
  if (!isRising(work, fill)) return { share, kind: 'no-sign' }
  return { share, kind: 'rising', part: partOf(work, fill, ensemble, { pace, wholeG }) }
}

/** At the end of a fill, before the next begins: what its ledger tells about the jar's next fill. */
export function learnHolds(work: Known): void {
  const { fill } = work.memory.beads
  if (fill === null || fill.ensemble === null || !fill.isKnown) return
  fill.holds = holdsAfter(fill.holds, endOf(work, fill, fill.ensemble))
}

/** Grams follow the scale but for the bake's residual: the second round is within a percent. */
const ROUNDS = 2

/**
 * Moves the columns of a fresh fill so that, run forward at the rig's pace, they hold what the jar's earlier fills did. The
 * ledger that they are then compared with is wrong in the same way as the one that it was learned from.
 */
export function anchorFill(work: Work): void {
  const { fill } = work.memory.beads
  if (fill === null || fill.holds === null || fill.ensemble === null) return
  const { holds, pathShare } = fill
  const load = loadOf(fill)
  const pace = paceOf(work)
  const wholeG = heldG(work, fill, pace) ?? 0
  if (load === null || !(wholeG > 0)) return
  const sd = nextFillSd(holds)
  let mean = 0
  for (const ln of fill.ensemble.lnScale) mean += ln / fill.ensemble.lnScale.length
  for (let round = 0; round < ROUNDS; round++) {
    const trial = startEnsemble(load, { mean, sd })
    const runG = capacityG(runMembers(trial, pace, { share: pathShare, heldG: null }), trial.weights)
    if (!(runG > 0)) return
    mean += Math.log(wholeG / runG)
  }
  fill.ensemble = startEnsemble(load, { mean, sd })
  work.beds = null
}
