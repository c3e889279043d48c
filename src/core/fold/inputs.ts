/**
 * What goes into the fold: everything the analysis may know, in the order of its own time.
 * Plain data only, so that the scheduled job, the replay command and the tests feed the same thing.
 */

export type Place = 'return' | 'supply' | 'ambient' | 'engine'
export const PLACES: readonly Place[] = ['return', 'supply', 'ambient', 'engine']

/** One instant at one place, as reported. All but one value may be missing (`null`). */
export type Reading = {
  readonly atS: number
  readonly place: Place
  /** Relative humidity over water, %, 0..100, as the hub said it: never corrected. */
  readonly humidityPct: number | null
  readonly tempC: number | null
  readonly pumpOn: boolean | null
  readonly powerW: number | null
}

/** A line of the logbook. `detail` keeps the names of the contract (`massG`, `until`, `shownPct`, ...), all as text. */
export type LogEntry = {
  readonly atS: number
  readonly what: string
  readonly detail: Readonly<Record<string, string>>
}

/** rig.json after reading: every field present, `null` where the owner has not said. */
export type RigSettings = {
  readonly band: { readonly startPct: number; readonly stopPct: number }
  /** Dry mass of the beads, g. */
  readonly beadMassG: number | null
  readonly beadKind: string
  /** Volume of the loop: crankcase, hoses, column; L. */
  readonly volumeL: number | null
  readonly flowLPerMin: number | null
  /** Longest spacing to expect between readings, s; `null`: learned. */
  readonly reportEveryS: number | null
  readonly elevationM: number
  /** Power above which the pump counts as on, W. */
  readonly pumpOnW: number | null
  /** How far past a limit the outlet may switch, % RH. */
  readonly switchTolPct: number
  /** Where the return sensor sits; `null`: the box, until a plateau has dried late and without a rise. */
  readonly sensorSits: 'box' | 'engine' | null
  readonly boxL: number
  /** The climate the rig stands in, used where no ambient sensor reports. */
  readonly ambient: { readonly humidityPct: number; readonly tempC: number } | null
}

/** Settings are dated: a change holds from `fromS` on. */
export type DatedSettings = { readonly fromS: number; readonly settings: RigSettings }

/** All sorted by their time; equal times keep their order. Nothing at or before `memory.gridS` may be in it. */
export type Inputs = {
  readonly readings: readonly Reading[]
  readonly log: readonly LogEntry[]
  readonly settings: readonly DatedSettings[]
}
