/** Readings as they lie in the table, and as the core knows them. */
import type { Place, Reading } from '../../core/fold/inputs.ts'
import { PLACES } from '../../core/fold/inputs.ts'

export const READING_COLUMNS = 'place, at_s, humidity_centi_pct, temp_centi_c, pump_on, power_deci_w'

export type ReadingRecord = {
  place: number
  at_s: number
  humidity_centi_pct: number | null
  temp_centi_c: number | null
  pump_on: number | null
  power_deci_w: number | null
}

/** Throws on a place that no version of this project ever wrote. */
export function placeOf(code: number): Place {
  const place = PLACES[code]
  if (place === undefined) throw new Error(`place ${code} in the database`)
  return place
}

export function readingOf(row: ReadingRecord): Reading {
  return {
    atS: row.at_s,
    place: placeOf(row.place),
    humidityPct: row.humidity_centi_pct === null ? null : row.humidity_centi_pct / 100,
    tempC: row.temp_centi_c === null ? null : row.temp_centi_c / 100,
    pumpOn: row.pump_on === null ? null : row.pump_on === 1,
    powerW: row.power_deci_w === null ? null : row.power_deci_w / 10,
  }
}
