/** The forms a post goes through: what was found in it, what could be read of that, and why the rest was set aside. */

/** Stable words: hubs and screens rely on them. */
export type SetAsideReason =
  | 'not_a_record'
  | 'unavailable'
  | 'not_a_number'
  | 'humidity_range'
  | 'temperature_range'
  | 'power_range'
  | 'pump_unreadable'
  | 'time_unreadable'
  | 'time_no_zone'
  | 'time_before_2000'
  | 'time_ahead'
  | 'time_missing'
  | 'unknown_place'
  | 'unknown_rig'
  | 'rig_missing'
  | 'unknown_field'
  | 'no_value'
  | 'conflict'

export type SetAside = {
  /** Counts the records of the post from 0. */
  readonly index: number
  /** The field within the record, RFC 6901; empty for the record itself. */
  readonly pointer: string
  readonly reason: SetAsideReason
  readonly detail: string
}

export type Field = 'at' | 'humidity' | 'temperature' | 'pump' | 'power' | 'place' | 'rig'

/** One record as found, before any value is looked at. `undefined` and `null`: missing. */
export type RawRecord = { readonly [F in Field]: unknown }

/** 0 return, 1 supply, 2 ambient, 3 engine: the order of PLACES, as stored. */
export type PlaceCode = 0 | 1 | 2 | 3

/** One instant at one place, ready to be kept. Values are whole numbers of the stored unit; `null` is missing. */
export type KeptReading = {
  readonly index: number
  readonly rigKey: number
  readonly place: PlaceCode
  readonly atS: number
  readonly humidityCentiPct: number | null
  readonly tempCentiC: number | null
  readonly pumpOn: 0 | 1 | null
  readonly powerDeciW: number | null
}

/** Something that was changed on the way in, and is said so. */
export type Note = {
  readonly index: number
  readonly pointer: string
  readonly reason: 'over_100_kept_as_100'
  readonly detail: string
}
