/** What the server answers, as the app uses it. Times are RFC 3339 UTC text, values carry their unit in the contract. */
import type { Place } from '../../../src/core/fold/inputs.ts'
import type { PumpBasis, RuleName, Urgency } from '../../../src/core/fold/outputs.ts'

export type { Place, PumpBasis, RuleName, Urgency }

export type Role = 'keeper' | 'watcher'
export type TemperatureUnit = 'degC' | 'degF'

export type HangarRef = { id: string; name: string; role: Role }
export type Person = { id: string; name: string; zone: string; unit: TemperatureUnit }
export type Me = { kind: 'person' | 'host'; person: Person | null; hangars: HangarRef[] }

export type Settings = {
  band: { start: number; stop: number }
  beadMassG?: number
  beadKind?: string
  volumeL?: number
  flowLPerMin?: number
  reportEveryS?: number
  elevationM?: number
  pumpOnW?: number
  switchTolPct?: number
  sensorSits?: 'box' | 'engine'
  boxL?: number
  ambient?: { humidity: number; temperature: number }
}
export type Rig = { id: string; slug: string; name: string; hangar: string; settings: Settings }

export type Interval = { low: number; mid: number; high: number }
export type Forecast = {
  takenUpG: Interval | null
  capacityG: Interval | null
  flightsLeft: Interval | null
  daysLeft: Interval | null
  emptyAt: string | null
  noFlightsUntil: string | null
}
export type Fill = {
  from: string
  to: string | null
  jar: string | null
  beadMassG: number | null
  beadKind: string
  bakeTempC: number | null
  flights: number
  takenUpByFlightsG: number | null
  takenUpIdleG: number | null
  forecast: Forecast
}
export type LatestReading = {
  place: Place
  at: string
  humidity: number | null
  temperature: number | null
  pump: boolean | null
  power: number | null
}
export type Unknown = { what: string; why: string }
export type AlertState = 'open' | 'seen' | 'over'
export type Evidence = Readonly<Record<string, number | string | boolean | null>>
export type Alert = {
  id: string
  rig: string
  rule: RuleName
  urgency: Urgency
  state: AlertState
  since: string
  raisedAt: string
  overAt: string | null
  sentence: string
  evidence: Evidence
  check: string[]
}
export type Now = {
  sentence: string
  state: string
  heardAt: string | null
  readings: LatestReading[]
  fill: Fill | null
  forecast: Forecast | null
  forecastSentence: string | null
  unknown: Unknown[]
  alerts: Alert[]
}

export type TracePoint = {
  at: string
  humidity: number | null
  temperature: number | null
  min: number | null
  max: number | null
}
export type Mark = { at: string; what: string; detail: Record<string, string> }
export type Run = { from: string; to: string; basis: PumpBasis }
export type Trace = {
  series: { place: Place; points: TracePoint[] }[]
  gaps: { from: string; to: string }[]
  runs: Run[]
  marks: Mark[]
}
export type Cycle = {
  at: string
  runFrom: string
  runTo: string
  basis: PumpBasis
  startPct: number | null
  peakPct: number | null
  endPct: number | null
  apparentFloorPct: number | null
  floorSePct: number | null
  runTimeRatio: number | null
  runMin: number
  restMin: number
  kPerH: number | null
  ingressPerH: number | null
  waterG: number | null
  afterFlight: boolean
}
export type Exposure = {
  under40: number
  from40to60: number
  from60to80: number
  over80: number
  wet: number
  gapsH: number
  offH: number
}
export type LogEntry = { id: string; at: string; what: string; detail: Record<string, string> }

export type Health = { ok: boolean; checkedAt: string | null }
export type Page<T> = { items: T[]; next: string | null }
