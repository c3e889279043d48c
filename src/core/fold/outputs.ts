/** What comes out of the fold. Times are Unix seconds, values carry their unit in the name. */
import type { Place } from './inputs.ts'

/** now: drive to the field. visit: next time you are there. note: no action. */
export type Urgency = 'now' | 'visit' | 'note'

export type RuleName =
  | 'no-drop'
  | 'band-not-reached'
  | 'floor-rising'
  | 'beads-spent'
  | 'leak'
  | 'open-loop'
  | 'wet-and-idle'
  | 'stuck-running'
  | 'silent'
  | 'frozen'
  | 'implausible'
  | 'left-off'
  | 'wet-after-flight'
  | 'condensing'
  | 'swapped'

/** Numbers and words behind a sentence. Names end in their unit; a time is `...S` (Unix seconds). Flat, so that it can be stored and shown. */
export type Evidence = Readonly<Record<string, number | string | boolean | null>>

/** A change of an alert. `raised`, `changed` (another urgency) and `over` are decided by the fold alone. */
export type AlertEvent = {
  readonly atS: number
  readonly event: 'raised' | 'changed' | 'over'
  readonly rule: RuleName
  readonly urgency: Urgency
  /** First reading for which the finding held; stays the same over the alert's life. */
  readonly sinceS: number
  /** Grid time at which it was raised: with the rule it identifies the alert of a rig. */
  readonly raisedAtS: number
  readonly evidence: Evidence
}

/** An alert that is open in memory. */
export type OpenAlert = Omit<AlertEvent, 'atS' | 'event'>

export type PumpBasis = 'reported' | 'power' | 'inferred'

/** A run and the rest after it. `atS` is when the next run starts. */
export type Cycle = {
  readonly atS: number
  readonly runFromS: number
  readonly runToS: number
  readonly basis: PumpBasis
  readonly startPct: number | null
  readonly peakPct: number | null
  readonly endPct: number | null
  /** The RH the run was heading for, at the run's temperature, % RH, and its standard error. */
  readonly apparentFloorPct: number | null
  readonly floorSePct: number | null
  readonly runTimeRatio: number | null
  readonly runMin: number
  readonly restMin: number
  readonly kPerH: number | null
  readonly ingressPerH: number | null
  readonly waterG: number | null
  readonly energyWh: number | null
  readonly tempC: number | null
  readonly daysSinceFlight: number | null
  readonly afterFlight: boolean
}

/** Middle and 80 % interval. */
export type Interval = { readonly low: number; readonly mid: number; readonly high: number }

export type Forecast = {
  readonly takenUpG: Interval | null
  /** Water from the last bake until, at this rig's mix of flights and leakage, the exit air equals `stop`. */
  readonly capacityG: Interval | null
  readonly flightsLeft: Interval | null
  readonly daysLeft: Interval | null
  readonly emptyAtS: number | null
  readonly noFlightsUntilS: number | null
}

/** One load of beads from bake to bake. */
export type Fill = {
  readonly fromS: number
  /** `null` while it is the one in the column. */
  readonly toS: number | null
  readonly jar: string | null
  readonly beadMassG: number | null
  readonly beadKind: string
  readonly bakeTempC: number | null
  readonly flights: number
  readonly takenUpByFlightsG: number | null
  readonly takenUpIdleG: number | null
  readonly forecast: Forecast
}

/** Hours at the metal; `gapsH` and `offH` are unknown, never dry. `wet` is ISO 9223 and overlaps `over80`. */
export type ExposureH = {
  readonly under40: number
  readonly from40to60: number
  readonly from60to80: number
  readonly over80: number
  readonly wet: number
  readonly gapsH: number
  readonly offH: number
}

/** An hour or a UTC day of one place, written when it closes. */
export type Rollup = {
  readonly place: Place
  readonly spanS: 3600 | 86400
  readonly fromS: number
  readonly humidityMeanPct: number | null
  readonly humidityMinPct: number | null
  readonly humidityMaxPct: number | null
  readonly densityMeanGm3: number | null
  readonly densityMinGm3: number | null
  readonly densityMaxGm3: number | null
  readonly tempMeanC: number | null
  readonly heardMin: number
}

/** The exposure of one closed UTC day, so that a record over any period is a sum. */
export type ExposureDay = ExposureH & { readonly fromS: number }

/** A quantity that cannot be told, and the reason: named, never silently assumed. */
export type Unknown = { readonly what: string; readonly why: string }
