/** Rigs, their dated settings, and what is known about them. */
import { z } from '@hono/zod-openapi'
import { TRACE_POINTS_MAX } from '../../../core/limits.ts'
import { operation } from '../operation.ts'
import { alert } from './alerts.ts'
import { id, listOf, name, page, slug, span, time } from './common.ts'
import { logEntry } from './logbook.ts'

const number = z.number().nullish()

/** The form of rig.json; the ranges are checked by the reader that replay uses too. Unknown keys are kept. */
export const rigFile = z
  .looseObject({
    band: z.looseObject({ start: z.number(), stop: z.number() }),
    beadMassG: number,
    beadKind: z.string().optional(),
    volumeL: number,
    flowLPerMin: number,
    reportEveryS: number,
    elevationM: number,
    pumpOnW: number,
    switchTolPct: number,
    sensorSits: z.enum(['box', 'engine']).nullish(),
    boxL: number,
    ambient: z.looseObject({ humidity: z.number(), temperature: z.number() }).nullish(),
  })
  .openapi('RigFile', { example: { band: { start: 15, stop: 6 }, beadMassG: 2000, volumeL: 45 } })

export const rig = z
  .object({ id, hangar: id, slug: z.string(), name: z.string(), madeAt: time, settings: rigFile })
  .openapi('Rig')
const dated = z.object({ from: time, settings: rigFile })
export const rigWithHistory = rig.extend({ history: z.array(dated) }).openapi('RigWithHistory')

export const place = z.enum(['return', 'supply', 'ambient', 'engine']).openapi('Place')
export const interval = z.object({ low: z.number(), mid: z.number(), high: z.number() }).openapi('Interval')
const left = interval.nullable()

export const forecast = z
  .object({
    takenUpG: left,
    capacityG: left,
    flightsLeft: left,
    daysLeft: left,
    emptyAt: time.nullable(),
    noFlightsUntil: time.nullable(),
  })
  .openapi('Forecast')

/** How the floor that runs head for has moved in this fill: described, never an alarm. */
export const floorTrend = z
  .object({
    from: time,
    to: time,
    /** Slope, % RH a week, with its 95 % confidence limits. */
    pctPerWeek: interval,
    /** How often values in random order would show as clear an order, 0..1. */
    chance: z.number(),
  })
  .openapi('FloorTrend')

export const fill = z
  .object({
    from: time,
    /** `null` while it is the one in the column. */
    to: time.nullable(),
    jar: z.string().nullable(),
    beadMassG: z.number().nullable(),
    beadKind: z.string(),
    bakeTempC: z.number().nullable(),
    flights: z.number(),
    takenUpByFlightsG: z.number().nullable(),
    takenUpIdleG: z.number().nullable(),
    forecast,
  })
  .openapi('Fill')

const value = z.number().nullable()

export const cycle = z
  .object({
    at: time,
    runFrom: time,
    runTo: time,
    basis: z.enum(['reported', 'power', 'inferred']),
    startPct: value,
    peakPct: value,
    endPct: value,
    apparentFloorPct: value,
    floorSePct: value,
    runTimeRatio: value,
    runMin: z.number(),
    restMin: z.number(),
    kPerH: value,
    ingressPerH: value,
    waterG: value,
    energyWh: value,
    tempC: value,
    daysSinceFlight: value,
    afterFlight: z.boolean(),
  })
  .openapi('Cycle')

const hours = z.number()
export const exposure = z
  .object({
    under40: hours,
    from40to60: hours,
    from60to80: hours,
    over80: hours,
    wet: hours,
    gapsH: hours,
    offH: hours,
  })
  .openapi('Exposure')

export const latest = z
  .object({
    place,
    at: time,
    humidity: value,
    temperature: value,
    pump: z.boolean().nullable(),
    power: value,
  })
  .openapi('LatestReading')

export const now = z
  .object({
    sentence: z.string(),
    state: z.enum(['run', 'rest', 'off', 'unheard', 'unknown']),
    /** Newest reading of any place. */
    heardAt: time.nullable(),
    /** The analysis has taken in everything up to here. */
    checkedAt: time.nullable(),
    readings: z.array(latest),
    fill: fill.nullable(),
    forecast: forecast.nullable(),
    forecastSentence: z.string().nullable(),
    floorTrend: floorTrend.nullable(),
    floorTrendSentence: z.string().nullable(),
    /** What the salt checks of the return sensor came to: accepted or not and why, and what is corrected. */
    sensorSentence: z.string().nullable(),
    /** What cannot be told, and why. */
    unknown: z.array(z.object({ what: z.string(), why: z.string() })),
    /** What is taken for granted because nobody has said it and nothing measures it. */
    assumed: z.array(z.string()),
    alerts: z.array(alert),
  })
  .openapi('Now')

export const trace = z
  .object({
    series: z.array(
      z.object({
        place,
        points: z.array(z.object({ at: time, humidity: value, temperature: value, min: value, max: value })),
      }),
    ),
    gaps: z.array(z.object({ from: time, to: time })),
    runs: z.array(z.object({ from: time, to: time, basis: z.enum(['reported', 'power', 'inferred']) })),
    marks: z.array(logEntry),
    /** What the points were made from. */
    basis: z.enum(['readings', 'hours', 'days']),
  })
  .openapi('Trace')

export const rigOperations = {
  listRigs: operation({
    method: 'get',
    path: '/v1/hangars/{hangar}/rigs',
    access: 'watcher',
    summary: 'Rigs of a hangar',
    query: page,
    answer: listOf(rig),
  }),
  addRig: operation({
    method: 'post',
    path: '/v1/hangars/{hangar}/rigs',
    access: 'keeper',
    summary: 'Add a rig',
    status: 201,
    body: z.object({ name, slug, settings: rigFile }),
    answer: rig,
  }),
  readRig: operation({
    method: 'get',
    path: '/v1/rigs/{rig}',
    access: 'watcher',
    summary: 'One rig, with its settings as they were and are',
    answer: rigWithHistory,
  }),
  changeRig: operation({
    method: 'patch',
    path: '/v1/rigs/{rig}',
    access: 'keeper',
    summary:
      'Rename a rig, or change its settings from a time on (now, unless said); `null` takes back those that begin then',
    body: z.object({
      name: name.optional(),
      slug: slug.optional(),
      from: time.optional(),
      settings: rigFile.nullable().optional(),
    }),
    answer: rigWithHistory,
  }),
  removeRig: operation({
    method: 'delete',
    path: '/v1/rigs/{rig}',
    access: 'keeper',
    summary:
      'Delete a rig and all its data, in steps: gone for everyone at once; call again until `isDone`, or leave the rest to the schedule',
    whileDeleting: true,
    status: 202,
    /** The rig's name, typed by a person who means it. */
    body: z.object({ name: z.string() }),
    answer: z.object({ isDone: z.boolean(), removed: z.int() }),
  }),
  readNow: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/now',
    access: 'watcher',
    summary: 'What is known about a rig at this moment, in a sentence and in numbers',
    answer: now,
  }),
  readTrace: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/trace',
    access: 'watcher',
    summary: 'The readings of a period as at most `points` points a place, extremes kept',
    query: span.extend({ points: z.coerce.number().int().min(10).max(TRACE_POINTS_MAX).default(1000) }),
    answer: trace,
  }),
  listCycles: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/cycles',
    access: 'watcher',
    summary: 'Runs with the rest after each, newest first',
    query: page,
    answer: listOf(cycle),
  }),
  listFills: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/fills',
    access: 'watcher',
    summary: 'Loads of beads from bake to bake',
    query: page,
    answer: listOf(fill),
  }),
  readExposure: operation({
    method: 'get',
    path: '/v1/rigs/{rig}/exposure',
    access: 'watcher',
    summary:
      'Hours of humidity at the metal by class: `from` and `to` say the whole UTC days they cover, part days widened and days not yet closed left out; hours of which nothing is known are `gapsH`',
    query: span,
    answer: exposure.extend({ from: time, to: time, days: z.array(exposure.extend({ from: time })) }),
  }),
} as const
