/**
 * Weather of the second simulator: air masses that follow one another with fronts between them, small wobbles (AR(1)),
 * days with a steep morning and a slow evening, a building that lags behind, leaks and is now and then opened.
 */
import { type Random, nextBetween, nextNormal, nextUniform } from '../../../src/core/rig/random.ts'
import { densityGm3, humidityPct, saturationPa } from './vapour.ts'

export type Place = {
  readonly meanC: number
  readonly seasonK: number
  readonly dayK: number
  /** Mean depression of the dew point, K. */
  readonly depressionK: number
  readonly dewSeason: number
  readonly phase: number
  /** Lag of the building, h, and its air changes an hour with the door shut. */
  readonly lagH: number
  readonly changesPerH: number
  /** Warming by the sun on the roof, K. */
  readonly roofK: number
  readonly heatedToC: number | null
  readonly doorsPerDay: number
}

export type AirState = {
  mass: number
  untilS: number
  tempK: number
  dewK: number
  cloud: number
  wobbleK: number
  wobbleDewK: number
  wind: number
  pressureHpa: number
  openUntilS: number
  hangarC: number
  hangarGm3: number
}

export type HangarAir = {
  readonly tempC: number
  readonly gm3: number
  readonly pct: number
  /** Around 1: drives air through what is not tight. */
  readonly wind: number
  readonly pressureHpa: number
}

/** Departures from the season of temperature and dew point, K, and cloud: polar, maritime, tropical, continental. */
const MASSES = [
  { tempK: -4.5, dewK: -6, cloud: 0.35 },
  { tempK: 0, dewK: 1.5, cloud: 0.8 },
  { tempK: 4, dewK: 4.5, cloud: 0.6 },
  { tempK: 1.5, dewK: -5, cloud: 0.1 },
] as const

const HOUR = 3600
const DAY = 86_400
/** The weather's own step, s. */
export const AIR_STEP_S = 300

export function startAir(random: Random, place: Place): AirState {
  const mass = Math.floor(nextUniform(random) * MASSES.length)
  const { tempK, dewK, cloud } = MASSES[mass] ?? MASSES[1]
  return {
    mass,
    untilS: 0,
    tempK,
    dewK,
    cloud,
    wobbleK: 0,
    wobbleDewK: 0,
    wind: 1,
    pressureHpa: 1013,
    openUntilS: 0,
    hangarC: place.meanC,
    hangarGm3: densityGm3(saturationPa(place.meanC - place.depressionK), place.meanC),
  }
}

/** -1 before sunrise, 1 in the afternoon: up in nine hours, down as a body cools. */
function dayShape(hour: number): number {
  if (hour >= 6 && hour < 15) return 1 - 2 * Math.cos((Math.PI * (hour - 6)) / 18) ** 2
  const since = (hour + 24 - 15) % 24
  const end = Math.exp(-15 / 5)
  return -1 + (2 * (Math.exp(-since / 5) - end)) / (1 - end)
}

function outsideAir(atS: number, place: Place, air: AirState): { tempC: number; gm3: number } {
  const season = -Math.cos(2 * Math.PI * (atS / (365.25 * DAY) - 0.05 - place.phase))
  const dayK = place.dayK * (1 - 0.8 * air.cloud) * dayShape((atS % DAY) / HOUR)
  const tempC = place.meanC + place.seasonK * season + air.tempK + air.wobbleK + dayK
  const dew =
    place.meanC - place.depressionK + place.dewSeason * place.seasonK * season + air.dewK + air.wobbleDewK
  const clippedC = Math.min(44, Math.max(-18, tempC))
  return { tempC: clippedC, gm3: densityGm3(saturationPa(Math.min(dew, clippedC - 0.3)), clippedC) }
}

function stepMass(atS: number, random: Random, air: AirState, hours: number): void {
  if (atS >= air.untilS) {
    if (air.untilS > 0) air.mass = (air.mass + 1 + Math.floor(nextUniform(random) * 3)) % MASSES.length
    air.untilS = atS + DAY * (0.7 - 3 * Math.log(1 - nextUniform(random)))
  }
  const { tempK, dewK, cloud } = MASSES[air.mass] ?? MASSES[1]
  // A front takes some hours to pass.
  const front = 1 - Math.exp(-hours / 5)
  air.tempK += front * (tempK - air.tempK)
  air.dewK += front * (dewK - air.dewK)
  air.cloud += front * (cloud - air.cloud)
  const keep = Math.exp(-hours / 8)
  const kick = Math.sqrt(1 - keep * keep)
  air.wobbleK = keep * air.wobbleK + 0.9 * kick * nextNormal(random)
  air.wobbleDewK = keep * air.wobbleDewK + 0.9 * kick * nextNormal(random)
  air.wind = Math.exp(keep * Math.log(air.wind) + 0.4 * kick * nextNormal(random))
  const keepP = Math.exp(-hours / 30)
  air.pressureHpa =
    1013 + keepP * (air.pressureHpa - 1013) + 9 * Math.sqrt(1 - keepP ** 2) * nextNormal(random)
}

/** Moves the hangar's air on by `AIR_STEP_S` to `atS`. Changes `air` and `random`. */
export function stepHangar(atS: number, random: Random, place: Place, air: AirState): HangarAir {
  const hours = AIR_STEP_S / HOUR
  stepMass(atS, random, air, hours)
  const outside = outsideAir(atS, place, air)
  const hour = (atS % DAY) / HOUR
  const isDay = hour > 7 && hour < 20
  if (isDay && nextUniform(random) < (place.doorsPerDay * hours) / 13)
    air.openUntilS = atS + HOUR * nextBetween(random, 0.3, 4)
  const isOpen = atS < air.openUntilS
  const sun = Math.max(0, Math.sin((Math.PI * (hour - 7)) / 12)) * (1 - 0.8 * air.cloud)
  const towardsC = Math.max(place.heatedToC ?? -99, outside.tempC + (isOpen ? 0 : place.roofK * sun))
  air.hangarC += (towardsC - air.hangarC) * (1 - Math.exp(-hours / (isOpen ? 0.5 : place.lagH)))
  const changes = isOpen ? 12 : place.changesPerH * (0.5 + 0.5 * air.wind)
  air.hangarGm3 += (outside.gm3 - air.hangarGm3) * (1 - Math.exp(-hours * changes))
  // What is more than saturated runs down the walls.
  air.hangarGm3 = Math.min(air.hangarGm3, 0.99 * densityGm3(saturationPa(air.hangarC), air.hangarC))
  return {
    tempC: air.hangarC,
    gm3: air.hangarGm3,
    pct: humidityPct(air.hangarGm3, air.hangarC),
    wind: air.wind,
    pressureHpa: air.pressureHpa,
  }
}
