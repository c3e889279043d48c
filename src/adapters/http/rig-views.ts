/** What is known about rigs, as it leaves: times as text, values under the names of the contract. */
import type { z } from '@hono/zod-openapi'
import type { Reading } from '../../core/fold/inputs.ts'
import type { Cycle, ExposureH, Fill, Forecast } from '../../core/fold/outputs.ts'
import type { FloorTrend } from '../../core/trace/floor-trend.ts'
import type { DatedRigFile, LogRow, RigRow, SourceRow, ShownPost, Trace } from '../../flows/ports.ts'
import type { logEntry } from './schemas/logbook.ts'
import type * as schemas from './schemas/rigs.ts'
import type { post, source } from './schemas/sources.ts'
import { timeOf, timeOrNull } from './time.ts'

type RigFile = z.input<typeof schemas.rigFile>

/** It was checked on its way in. */
function fileView(dated: DatedRigFile | undefined): RigFile {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- read by readRigFile before it was stored
  return (dated?.settings ?? { band: { start: 15, stop: 6 } }) as RigFile
}

export function rigView(
  rig: RigRow,
  settings: readonly DatedRigFile[],
  nowS: number,
): z.input<typeof schemas.rig> {
  const current = settings.findLast(({ fromS }) => fromS <= nowS) ?? settings[0]
  return {
    id: rig.id,
    hangar: rig.hangar,
    slug: rig.slug,
    name: rig.name,
    madeAt: timeOf(rig.madeS),
    settings: fileView(current),
  }
}

export function historyView(settings: readonly DatedRigFile[]) {
  return settings.map((dated) => ({ from: timeOf(dated.fromS), settings: fileView(dated) }))
}

export function logView(row: LogRow): z.input<typeof logEntry> {
  return {
    id: row.id,
    at: timeOf(row.atS),
    what: row.what,
    detail: { ...row.detail },
    by: row.by,
    madeAt: timeOf(row.madeS),
  }
}

export function forecastView(forecast: Forecast): z.input<typeof schemas.forecast> {
  const { takenUpG, capacityG, flightsLeft, daysLeft, emptyAtS, noFlightsUntilS } = forecast
  return {
    takenUpG,
    capacityG,
    flightsLeft,
    daysLeft,
    emptyAt: timeOrNull(emptyAtS),
    noFlightsUntil: timeOrNull(noFlightsUntilS),
  }
}

export function floorTrendView(trend: FloorTrend): z.input<typeof schemas.floorTrend> {
  const { fromS, toS, pctPerWeek, chance } = trend
  return { from: timeOf(fromS), to: timeOf(toS), pctPerWeek: { ...pctPerWeek }, chance }
}

export function fillView(fill: Fill): z.input<typeof schemas.fill> {
  return {
    from: timeOf(fill.fromS),
    to: timeOrNull(fill.toS),
    jar: fill.jar,
    beadMassG: fill.beadMassG,
    beadKind: fill.beadKind,
    bakeTempC: fill.bakeTempC,
    flights: fill.flights,
    takenUpByFlightsG: fill.takenUpByFlightsG,
    takenUpIdleG: fill.takenUpIdleG,
    forecast: forecastView(fill.forecast),
  }
}

export function cycleView(cycle: Cycle): z.input<typeof schemas.cycle> {
  const { atS, runFromS, runToS, ...rest } = cycle
  return { at: timeOf(atS), runFrom: timeOf(runFromS), runTo: timeOf(runToS), ...rest }
}

/** Hours to two decimals: the half minute. */
function round(valueH: number): number {
  return Math.round(valueH * 100) / 100
}

export function exposureView(hours: ExposureH): z.input<typeof schemas.exposure> {
  return {
    under40: round(hours.under40),
    from40to60: round(hours.from40to60),
    from60to80: round(hours.from60to80),
    over80: round(hours.over80),
    wet: round(hours.wet),
    gapsH: round(hours.gapsH),
    offH: round(hours.offH),
  }
}

export function readingView(reading: Reading): z.input<typeof schemas.latest> {
  return {
    place: reading.place,
    at: timeOf(reading.atS),
    humidity: reading.humidityPct,
    temperature: reading.tempC,
    pump: reading.pumpOn,
    power: reading.powerW,
  }
}

export function traceView(trace: Trace): z.input<typeof schemas.trace> {
  return {
    series: trace.series.map(({ place, points }) => ({
      place,
      points: points.map((point) => ({
        at: timeOf(point.atS),
        humidity: point.humidityPct,
        temperature: point.tempC,
        min: point.minPct,
        max: point.maxPct,
      })),
    })),
    gaps: trace.gaps.map((gap) => ({ from: timeOf(gap.fromS), to: timeOf(gap.toS) })),
    runs: trace.runs.map((run) => ({ from: timeOf(run.fromS), to: timeOf(run.toS), basis: run.basis })),
    marks: trace.marks.map(logView),
    basis: trace.basis,
  }
}

export function sourceView(row: SourceRow): z.input<typeof source> {
  return {
    id: row.id,
    hangar: row.hangar,
    name: row.name,
    rigs: [...row.rigs],
    keyInQuery: row.isKeyInQuery,
    recipe: isRecord(row.recipe) ? row.recipe : null,
    recipeVersion: row.recipeVersion,
    madeAt: timeOf(row.madeS),
    heardAt: timeOrNull(row.heardS),
    keys: row.keys.map((key) => ({
      id: key.id,
      madeAt: timeOf(key.madeS),
      revokedAt: timeOrNull(key.revokedS),
    })),
  }
}

export function postView(kept: ShownPost): z.input<typeof post> {
  return {
    id: kept.id,
    kind: kept.kind,
    at: timeOf(kept.atS),
    contentType: kept.contentType,
    body: kept.body,
    isBodyCut: kept.isBodyCut,
    isCut: kept.isCut,
    readAs: kept.readAs,
    recipeVersion: kept.recipeVersion,
    result: kept.result,
    replayedAt: timeOrNull(kept.replayedS),
  }
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}
