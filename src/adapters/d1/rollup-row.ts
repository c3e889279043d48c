/** Rollups as they lie in the table: hundredths of % RH and degC, thousandths of g/m3, seconds heard. */
import type { Rollup } from '../../core/fold/outputs.ts'
import { PLACES } from '../../core/fold/inputs.ts'
import { placeOf } from './reading-row.ts'

export const ROLLUP_VALUES = [
  'humidity_mean_centi_pct',
  'humidity_min_centi_pct',
  'humidity_max_centi_pct',
  'density_mean_milli_gm3',
  'density_min_milli_gm3',
  'density_max_milli_gm3',
  'temp_mean_centi_c',
  'heard_s',
] as const

/** As `rollupValues` gives them. */
export const ROLLUP_COLUMNS = ['place', 'span_s', 'from_s', ...ROLLUP_VALUES] as const

export type RollupRecord = {
  place: number
  span_s: 3600 | 86_400
  from_s: number
  humidity_mean_centi_pct: number | null
  humidity_min_centi_pct: number | null
  humidity_max_centi_pct: number | null
  density_mean_milli_gm3: number | null
  density_min_milli_gm3: number | null
  density_max_milli_gm3: number | null
  temp_mean_centi_c: number | null
  heard_s: number
}

export function rollupOf(row: RollupRecord): Rollup {
  return {
    place: placeOf(row.place),
    spanS: row.span_s,
    fromS: row.from_s,
    humidityMeanPct: divided(row.humidity_mean_centi_pct, 100),
    humidityMinPct: divided(row.humidity_min_centi_pct, 100),
    humidityMaxPct: divided(row.humidity_max_centi_pct, 100),
    densityMeanGm3: divided(row.density_mean_milli_gm3, 1000),
    densityMinGm3: divided(row.density_min_milli_gm3, 1000),
    densityMaxGm3: divided(row.density_max_milli_gm3, 1000),
    tempMeanC: divided(row.temp_mean_centi_c, 100),
    heardMin: row.heard_s / 60,
  }
}

/** In the order of the table's columns after the rig. */
export function rollupValues(rollup: Rollup): readonly (number | null)[] {
  return [
    PLACES.indexOf(rollup.place),
    rollup.spanS,
    rollup.fromS,
    times(rollup.humidityMeanPct, 100),
    times(rollup.humidityMinPct, 100),
    times(rollup.humidityMaxPct, 100),
    times(rollup.densityMeanGm3, 1000),
    times(rollup.densityMinGm3, 1000),
    times(rollup.densityMaxGm3, 1000),
    times(rollup.tempMeanC, 100),
    Math.round(rollup.heardMin * 60),
  ]
}

function divided(value: number | null, by: number): number | null {
  return value === null ? null : value / by
}

function times(value: number | null, by: number): number | null {
  return value === null ? null : Math.round(value * by)
}
