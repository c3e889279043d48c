/**
 * rig.json: how an owner describes a rig, in a file for replay and as `settings` over HTTP. Only the band is needed;
 * what is left out stays unknown (`null`) unless it has a default that is no guess about the rig.
 */
import type { RigSettings } from '../fold/inputs.ts'

export type RigFileProblem = {
  readonly pointer: string
  readonly detail: string
  /** Where a number is out of its range. */
  readonly range?: { readonly min: number; readonly max: number } | undefined
}

export type RigFileResult =
  | { readonly ok: true; readonly settings: RigSettings; readonly unknownKeys: readonly string[] }
  | { readonly ok: false; readonly problems: readonly RigFileProblem[] }

type Range = { readonly min: number; readonly max: number }

/** What a number may be: wide enough for any rig on a piston engine, narrow enough to catch a wrong unit. */
const RANGES = {
  bandPct: { min: 0.5, max: 95 },
  beadMassG: { min: 10, max: 50_000 },
  volumeL: { min: 1, max: 1000 },
  flowLPerMin: { min: 0.05, max: 100 },
  reportEveryS: { min: 1, max: 86_400 },
  elevationM: { min: -500, max: 6000 },
  pumpOnW: { min: 0, max: 1000 },
  switchTolPct: { min: 0, max: 20 },
  boxL: { min: 0.05, max: 100 },
  humidityPct: { min: 0, max: 100 },
  tempC: { min: -60, max: 60 },
} as const satisfies Record<string, Range>

const KNOWN_KEYS = new Set([
  'band',
  'beadMassG',
  'beadKind',
  'volumeL',
  'flowLPerMin',
  'reportEveryS',
  'elevationM',
  'pumpOnW',
  'switchTolPct',
  'sensorSits',
  'boxL',
  'ambient',
])

/** Reads the parsed JSON of a rig.json. Never throws; every wrong value is named by its JSON Pointer. */
export function readRigFile(value: unknown): RigFileResult {
  const problems: RigFileProblem[] = []
  const file = objectAt({ value, pointer: '', problems })
  if (file === null) return { ok: false, problems }
  const number = (key: keyof typeof RANGES): number | null =>
    numberAt({ value: file[key], pointer: `/${key}`, range: RANGES[key], problems })
  const settings: RigSettings = {
    band: readBand(file['band'], problems),
    beadMassG: number('beadMassG'),
    beadKind: readBeadKind(file['beadKind'], problems),
    volumeL: number('volumeL'),
    flowLPerMin: number('flowLPerMin'),
    reportEveryS: number('reportEveryS'),
    elevationM: number('elevationM') ?? 0,
    pumpOnW: number('pumpOnW'),
    switchTolPct: number('switchTolPct') ?? 1,
    sensorSits: readSits(file['sensorSits'], problems),
    boxL: number('boxL') ?? 2,
    ambient: readAmbient(file['ambient'], problems),
  }
  if (problems.length > 0) return { ok: false, problems }
  return { ok: true, settings, unknownKeys: Object.keys(file).filter((key) => !KNOWN_KEYS.has(key)) }
}

function readBand(value: unknown, problems: RigFileProblem[]): RigSettings['band'] {
  const nothing = { startPct: 0, stopPct: 0 }
  if (value === undefined) {
    problems.push({ pointer: '/band', detail: 'a rig needs its band: {"start": 15, "stop": 6}, in % RH' })
    return nothing
  }
  const band = objectAt({ value, pointer: '/band', problems })
  if (band === null) return nothing
  const startPct = numberAt({ value: band['start'], pointer: '/band/start', range: RANGES.bandPct, problems })
  const stopPct = numberAt({ value: band['stop'], pointer: '/band/stop', range: RANGES.bandPct, problems })
  if (startPct === null && band['start'] === undefined) problems.push(missing('/band/start'))
  if (stopPct === null && band['stop'] === undefined) problems.push(missing('/band/stop'))
  if (startPct === null || stopPct === null) return nothing
  if (startPct <= stopPct)
    problems.push({
      pointer: '/band/start',
      detail: `has to be above where the pump stops: ${startPct} is not over ${stopPct}`,
    })
  return { startPct, stopPct }
}

function readBeadKind(value: unknown, problems: RigFileProblem[]): string {
  if (value === undefined) return 'regular-gel'
  if (typeof value === 'string' && value.length > 0 && value.length <= 60) return value
  problems.push({ pointer: '/beadKind', detail: 'a name of 1 to 60 characters' })
  return ''
}

function readSits(value: unknown, problems: RigFileProblem[]): RigSettings['sensorSits'] {
  if (value === undefined || value === null) return null
  if (value === 'box' || value === 'engine') return value
  problems.push({ pointer: '/sensorSits', detail: '"box" or "engine"' })
  return null
}

function readAmbient(value: unknown, problems: RigFileProblem[]): RigSettings['ambient'] {
  if (value === undefined || value === null) return null
  const ambient = objectAt({ value, pointer: '/ambient', problems })
  if (ambient === null) return null
  const humidityPct = numberAt({
    value: ambient['humidity'],
    pointer: '/ambient/humidity',
    range: RANGES.humidityPct,
    problems,
  })
  const tempC = numberAt({
    value: ambient['temperature'],
    pointer: '/ambient/temperature',
    range: RANGES.tempC,
    problems,
  })
  if (humidityPct === null) problems.push(missing('/ambient/humidity'))
  if (tempC === null) problems.push(missing('/ambient/temperature'))
  return humidityPct === null || tempC === null ? null : { humidityPct, tempC }
}

function missing(pointer: string): RigFileProblem {
  return { pointer, detail: 'is missing' }
}

type At = { readonly value: unknown; readonly pointer: string; readonly problems: RigFileProblem[] }

function objectAt({ value, pointer, problems }: At): Record<string, unknown> | null {
  if (isRecord(value)) return value
  problems.push({ pointer, detail: 'not an object' })
  return null
}

function isRecord(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value)
}

function numberAt({ value, pointer, range, problems }: At & { readonly range: Range }): number | null {
  if (value === undefined || value === null) return null
  if (typeof value === 'number' && value >= range.min && value <= range.max) return value
  problems.push({ pointer, detail: `a number from ${range.min} to ${range.max}`, range })
  return null
}
