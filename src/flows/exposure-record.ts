/** The hours at the metal over a period: whole UTC days, and every hour of them accounted for. */
import type { ExposureDay, ExposureH } from '../core/fold/outputs.ts'
import type { TraceStore } from './ports.ts'

const DAY_S = 86_400
const DAY_H = 24

export type ExposureRecord = {
  /** What the hours add up to: the period widened to whole days, and no further than days are closed. */
  readonly fromS: number
  readonly toS: number
  readonly hours: ExposureH
  readonly days: readonly ExposureDay[]
}

type Ask = { readonly fromS: number; readonly toS: number; readonly nowS: number }

export async function exposureRecord(
  traces: Pick<TraceStore, 'exposure'>,
  rig: string,
  ask: Ask,
): Promise<ExposureRecord> {
  const fromS = Math.floor(ask.fromS / DAY_S) * DAY_S
  const endS = Math.ceil(ask.toS / DAY_S) * DAY_S
  const found = await traces.exposure(rig, { fromS, toS: endS })
  // A rig that was never heard has no days at all: those that are over are unknown.
  const closedToS = found.lastS === null ? Math.floor(ask.nowS / DAY_S) * DAY_S : found.lastS + DAY_S
  const toS = Math.max(fromS, Math.min(endS, closedToS))
  const days = found.days.map(wholeDay)
  const hours = days.reduce<ExposureH>(add, { ...NOTHING, gapsH: (toS - fromS) / 3600 - days.length * DAY_H })
  return { fromS, toS, hours, days }
}

const NOTHING: ExposureH = {
  under40: 0,
  from40to60: 0,
  from60to80: 0,
  over80: 0,
  wet: 0,
  gapsH: 0,
  offH: 0,
}

/** A day that began before the first reading knows a part of its hours only. */
function wholeDay(day: ExposureDay): ExposureDay {
  return { ...day, gapsH: day.gapsH + Math.max(0, DAY_H - accountedH(day)) }
}

/** `wet` overlaps `over80`. */
function accountedH(day: ExposureH): number {
  return day.under40 + day.from40to60 + day.from60to80 + day.over80 + day.gapsH + day.offH
}

function add(sum: ExposureH, day: ExposureH): ExposureH {
  return {
    under40: sum.under40 + day.under40,
    from40to60: sum.from40to60 + day.from40to60,
    from60to80: sum.from60to80 + day.from60to80,
    over80: sum.over80 + day.over80,
    wet: sum.wet + day.wet,
    gapsH: sum.gapsH + day.gapsH,
    offH: sum.offH + day.offH,
  }
}
