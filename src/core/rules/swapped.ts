import type { Cycle, OpenAlert } from '../fold/outputs.ts'
import { median } from '../stats/quantile.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const DAY_S = 86_400

/** Somebody needs half an hour to change a column of beads. */
const OFF_MIN = 30
/** Runs compared on either side: the middle of four does not follow one odd run. */
const RUNS = 4
/** Beads fresh from the oven halve the run time; a quarter of scatter each way leaves 0.6 at two standard errors. */
const RATIO_SHARE = 0.6
const FLOOR_DOWN_PCT = 2
const FLOOR_SIGMAS = 3
/** A question nobody answers in two weeks is not asked for ever. */
const ASKED_FOR_S = 14 * DAY_S

type Run = {
  readonly ratio: number | null
  readonly floorPct: number | null
  readonly floorSePct: number | null
}

type SwappedMemory = {
  before: Run[]
  /** Runs since the rig was last off for long enough; `null` while it has not been, or after the comparison. */
  after: Run[] | null
  offAtS: number
  /** Minutes of the stretch off that the present moments tell of: another number is another stretch. */
  offMin: number
  /** The fill that the runs before belong to: another's are no comparison. */
  fillFromS: number | null
}

const start = (): SwappedMemory => ({ before: [], after: null, offAtS: 0, offMin: 0, fillFromS: null })

function middle(runs: readonly Run[], pick: (run: Run) => number | null): number | null {
  const values = runs.map(pick).filter((value) => value !== null)
  return values.length < RUNS - 1 ? null : median(values)
}

function runOf(cycle: Cycle): Run {
  return { ratio: cycle.runTimeRatio, floorPct: cycle.apparentFloorPct, floorSePct: cycle.floorSePct }
}

function collect(memory: SwappedMemory, moment: Moment): void {
  for (const cycle of moment.closed) {
    if (cycle.afterFlight) continue
    const runs = memory.after ?? memory.before
    runs.push(runOf(cycle))
    if (runs.length > RUNS) runs.shift()
  }
}

function compare(before: readonly Run[], after: readonly Run[], offAtS: number): Verdict {
  const ratioBefore = middle(before, (run) => run.ratio)
  const ratioAfter = middle(after, (run) => run.ratio)
  const floorBefore = middle(before, (run) => run.floorPct)
  const floorAfter = middle(after, (run) => run.floorPct)
  const sePct = Math.hypot(
    middle(before, (run) => run.floorSePct) ?? 1,
    middle(after, (run) => run.floorSePct) ?? 1,
  )
  const isQuicker = ratioBefore !== null && ratioAfter !== null && ratioAfter < RATIO_SHARE * ratioBefore
  const downPct = floorBefore !== null && floorAfter !== null ? floorBefore - floorAfter : 0
  const isLower = downPct > Math.max(FLOOR_DOWN_PCT, FLOOR_SIGMAS * sePct)
  if (!isQuicker && !isLower) return CLEAR
  return {
    kind: 'holds',
    urgency: 'note',
    sinceS: offAtS,
    evidence: {
      offAtS,
      isQuicker,
      ratioBefore,
      ratioAfter,
      floorBeforePct: floorBefore,
      floorAfterPct: floorAfter,
    },
  }
}

function step(memory: SwappedMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.offMinBefore !== memory.offMin) {
    memory.offMin = moment.offMinBefore
    if (moment.offMinBefore >= OFF_MIN) {
      memory.after = []
      memory.offAtS = moment.atS
    }
  }
  if (moment.fillFromS !== memory.fillFromS) {
    memory.before = []
    memory.fillFromS = moment.fillFromS
  }
  const isLogged = moment.fillFromS !== null && moment.fillFromS > memory.offAtS - DAY_S
  if (isLogged) memory.after = null
  if (open !== null) {
    if (isLogged) return { kind: 'clear', evidence: { endedBy: 'new fill' } }
    return moment.atS - open.raisedAtS > ASKED_FOR_S
      ? { kind: 'clear', evidence: { endedBy: 'unanswered' } }
      : SAME
  }
  if (moment.closed.length === 0) return SAME
  collect(memory, moment)
  if (memory.after === null || memory.after.length < RUNS) return CLEAR
  const verdict = compare(memory.before, memory.after, memory.offAtS)
  memory.before = memory.after
  memory.after = null
  return verdict
}

/**
 * Runs are suddenly much shorter after the rig was off: were the beads changed without a line in the logbook? Needs cycles
 * before and after. Over with a logged fill, or when nobody has answered in two weeks.
 */
export const swapped: Rule<SwappedMemory> = { name: 'swapped', start, step, pause: () => {} }
