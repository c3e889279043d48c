/** Where a step of the scheduled check stops on its way, so that there is something to go back to. */
import { CHECKPOINT_DAYS, CHECKPOINT_WEEKS, GRID_S } from '../limits.ts'

const DAY_S = 86_400
const WEEK_S = 7 * DAY_S
/** 1970-01-01 was a Thursday: weeks begin on Monday. */
const FIRST_MONDAY_S = 4 * DAY_S

export type Stop = { readonly gridS: number; readonly kind: 'day' | 'week' | 'fill' | null }

/** The last grid time at or before `atS`. */
export function gridAt(atS: number): number {
  return Math.floor(atS / GRID_S) * GRID_S
}

/**
 * The grid times at which the step from `fromS` to `untilS` keeps a copy of the memory: midnights (UTC) of the last
 * days before `targetS`, Mondays of the last weeks, and the grid time that takes in a bake or new beads. The last stop
 * is the end of the step itself.
 */
export function stopsOf(step: {
  readonly fromS: number
  readonly untilS: number
  readonly targetS: number
  /** When beads were baked or changed, s. */
  readonly fillTimesS: readonly number[]
}): readonly Stop[] {
  const { fromS, untilS, targetS } = step
  const kinds = new Map<number, Stop['kind']>([[untilS, null]])
  const within = (gridS: number): boolean => gridS > fromS && gridS <= untilS
  const firstDayS = Math.max(fromS, targetS - CHECKPOINT_DAYS * DAY_S)
  for (let dayS = Math.ceil(firstDayS / DAY_S) * DAY_S; dayS <= untilS; dayS += DAY_S)
    if (within(dayS)) kinds.set(dayS, 'day')
  const firstWeekS = Math.max(fromS, targetS - CHECKPOINT_WEEKS * WEEK_S)
  const mondayS = Math.ceil((firstWeekS - FIRST_MONDAY_S) / WEEK_S) * WEEK_S + FIRST_MONDAY_S
  for (let weekS = mondayS; weekS <= untilS; weekS += WEEK_S) if (within(weekS)) kinds.set(weekS, 'week')
  for (const atS of step.fillTimesS) {
    const gridS = Math.ceil(atS / GRID_S) * GRID_S
    if (within(gridS)) kinds.set(gridS, 'fill')
  }
  return Array.from(kinds, ([gridS, kind]) => ({ gridS, kind })).sort((a, b) => a.gridS - b.gridS)
}

/** Kept at `gridS`: checkpoints of each kind from these times on; of fills the newest alone. */
export function checkpointsKeptFrom(gridS: number): { readonly dayS: number; readonly weekS: number } {
  return { dayS: gridS - CHECKPOINT_DAYS * DAY_S, weekS: gridS - CHECKPOINT_WEEKS * WEEK_S }
}
