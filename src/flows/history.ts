/**
 * Results older than a rig's readings, brought from where it was before: they cannot be worked out again. Taken until the
 * rig is checked for the first time; what follows is told by its readings.
 */
import type { Cycle, ExposureDay, Fill, Rollup } from '../core/fold/outputs.ts'
import { toldFromS } from '../core/schedule/kept-history.ts'
import type { AlertRow } from './ports.ts'

export type PastAlert = Pick<
  AlertRow,
  'rule' | 'urgency' | 'sinceS' | 'raisedAtS' | 'overAtS' | 'overWhy' | 'seenAtS' | 'evidence'
>

export type History = {
  /** Readings are complete from here on, as where they come from. */
  readonly readingsFromS: number
  /** As far as it had been told there. */
  readonly reachedS: number
  readonly cycles: readonly Cycle[]
  readonly fills: readonly Fill[]
  readonly exposureDays: readonly ExposureDay[]
  readonly rollups: readonly Rollup[]
  readonly alerts: readonly PastAlert[]
}

export type HistoryStore = {
  /** `false`: the rig has been checked already, nothing is taken. What is there stays. */
  readonly take: (rig: string, history: History) => Promise<boolean>
}

/** Only what the readings will not tell. */
export function takeHistory(store: HistoryStore, rig: string, history: History): Promise<boolean> {
  const untilS = toldFromS(history.readingsFromS)
  return store.take(rig, {
    ...history,
    cycles: history.cycles.filter(({ atS }) => atS < untilS),
    fills: history.fills.filter(({ fromS }) => fromS < untilS),
    exposureDays: history.exposureDays.filter(({ fromS }) => fromS < untilS),
    rollups: history.rollups.filter(({ fromS }) => fromS < untilS),
    alerts: history.alerts.filter(({ raisedAtS }) => raisedAtS < untilS),
  })
}
