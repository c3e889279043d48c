import { dewPointC } from '../air/dew-point.ts'
import { saturationPressureOverWaterPa } from '../air/saturation.ts'
import { vapourDensityGm3, vapourPressurePa } from '../air/vapour.ts'
import { type Random, nextNormal } from './random.ts'

const DAY_S = 86_400
const YEAR_S = 365.25 * DAY_S

/** The air of a hangar through the year: seasons, days, and spells of some days. */
export type Climate = {
  readonly meanC: number
  /** Half of the difference between the warmest and the coldest month, K; negative in the south. */
  readonly seasonK: number
  /** Half of a clear day's range inside the hangar, K. */
  readonly dayK: number
  /** SD of warm and cold spells, K. */
  readonly spellK: number
  /** Mean RH at the mean temperature, %: sets the mean vapour. */
  readonly humidityPct: number
  /** SD of moist and dry spells, K of dew point. */
  readonly moistK: number
  /** Season of the dew point over that of the temperature: 0.5 continental, 1 coast. */
  readonly moistSeason: number
  /** Share of the yearly cycle that is over on 1 January: 0 puts the coldest day in mid January. */
  readonly phase: number
}

/** Spells as they stand; changed in place by `stepWeather`. */
export type WeatherState = { spellK: number; moistK: number; cloud: number }

export type Weather = { readonly tempC: number; readonly humidityPct: number; readonly densityGm3: number }

/** Days over which a spell forgets itself. */
const SPELL_DAYS = 3
/** Air next to cold walls is never quite saturated for long: fog and dew take the rest. */
const HUMIDITY_MAX_PCT = 98

export function startWeather(random: Random, climate: Climate): WeatherState {
  return {
    spellK: climate.spellK * nextNormal(random),
    moistK: climate.moistK * nextNormal(random),
    cloud: 0.5,
  }
}

/** Moves the spells on by an hour. Changes `weather` and `random`. */
export function stepWeather(weather: WeatherState, random: Random, climate: Climate): void {
  const keep = Math.exp(-1 / (24 * SPELL_DAYS))
  const kick = Math.sqrt(1 - keep * keep)
  // Warm spells are mostly moist ones.
  const shared = nextNormal(random)
  weather.spellK = keep * weather.spellK + kick * climate.spellK * shared
  weather.moistK = keep * weather.moistK + kick * climate.moistK * (0.6 * shared + 0.8 * nextNormal(random))
  const cloud = 0.97 * weather.cloud + 0.03 * 0.5 + 0.07 * nextNormal(random)
  weather.cloud = Math.min(1, Math.max(0, cloud))
}

/** The hangar's air at a time: coldest at 6, warmest at 15 h of local sun (UTC here). */
export function weatherAt(atS: number, climate: Climate, weather: WeatherState): Weather {
  const season = -Math.cos(2 * Math.PI * (atS / YEAR_S - 0.04 - climate.phase))
  const hour = (atS % DAY_S) / 3600
  // Warms in nine hours, cools in fifteen.
  const isMorning = hour >= 6 && hour < 15
  const half = isMorning ? (hour - 6) / 9 : 1 + (hour + (hour < 6 ? 24 : 0) - 15) / 15
  const day = -Math.cos(Math.PI * half) * (1 - 0.7 * weather.cloud)
  const tempC = Math.min(
    48,
    Math.max(-30, climate.meanC + climate.seasonK * season + climate.dayK * day + weather.spellK),
  )
  const meanDewC = dewPointC(vapourPressurePa(climate.humidityPct, climate.meanC)) ?? -40
  const dewC = meanDewC + climate.moistSeason * climate.seasonK * season + weather.moistK
  const pressurePa = saturationPressureOverWaterPa(Math.max(-45, Math.min(30, dewC)))
  const humidityPct = Math.min(HUMIDITY_MAX_PCT, (100 * pressurePa) / saturationPressureOverWaterPa(tempC))
  return { tempC, humidityPct, densityGm3: vapourDensityGm3(humidityPct, tempC) }
}

/** Invented climates that span what hangars see. */
export const CLIMATES = {
  temperate: {
    meanC: 11,
    seasonK: 8,
    dayK: 5,
    spellK: 2.5,
    humidityPct: 70,
    moistK: 2.5,
    moistSeason: 0.8,
    phase: 0,
  },
  coast: {
    meanC: 14,
    seasonK: 5,
    dayK: 3,
    spellK: 2,
    humidityPct: 80,
    moistK: 2,
    moistSeason: 0.9,
    phase: 0,
  },
  desert: {
    meanC: 23,
    seasonK: 10,
    dayK: 9,
    spellK: 3,
    humidityPct: 25,
    moistK: 4,
    moistSeason: 0.4,
    phase: 0,
  },
  cold: {
    meanC: 4,
    seasonK: 12,
    dayK: 5,
    spellK: 4,
    humidityPct: 72,
    moistK: 3.5,
    moistSeason: 0.85,
    phase: 0,
  },
  warm: {
    meanC: 24,
    seasonK: 5,
    dayK: 5,
    spellK: 2,
    humidityPct: 72,
    moistK: 2.5,
    moistSeason: 0.9,
    phase: 0,
  },
  heated: {
    meanC: 17,
    seasonK: 3,
    dayK: 1.5,
    spellK: 1,
    humidityPct: 42,
    moistK: 3,
    moistSeason: 1.6,
    phase: 0,
  },
} as const satisfies Record<string, Climate>
