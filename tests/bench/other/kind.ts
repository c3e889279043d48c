/** What the second simulator adds to a rig's plan: drawn from the plan's seed alone, so that every fork of it agrees. */
import {
  type Random,
  nextBetween,
  nextNormal,
  nextUniform,
  randomOfSeed,
} from '../../../src/core/rig/random.ts'
import { GELS, type Gel } from './gel.ts'
import type { Place } from './hangar-air.ts'

export type Kind = {
  readonly gel: Gel
  readonly radiusMm: number
  readonly bypass: number
  /** Share of the water that a short bake leaves. */
  readonly bakeLeaves: number
  readonly place: Place
  /** Share of the crankcase in dead ends, and their exchange with the rest, L/h. */
  readonly pocketShare: number
  readonly pocketLPerH: number
  /** Film and oil at balance with saturated air, in units of what the air itself would hold at 15 degC. */
  readonly filmTimes: number
  readonly filmHours: number
  readonly oilTimes: number
  readonly oilHours: number
  /** Air that a full pool keeps saturated, L/min. */
  readonly poolLPerMin: number
  readonly coolingH: readonly [number, number]
  readonly metalLagH: number
  /** Of the leak: what goes by diffusion, whatever the wind. */
  readonly stillShare: number
  readonly breathing: number
  readonly hoseL: number
  readonly sensor: {
    readonly driftShare: number
    readonly driftMin: number
    readonly glitchDays: number
    /** RH too high for days after a soaking. */
    readonly soakPct: number
    readonly perKPct: number
    readonly isFloored: boolean
  }
  readonly outletMin: number
  readonly hub: {
    readonly jitterShare: number
    readonly skewS: number
    /** Ambient posts come once in so many. */
    readonly ambientEvery: number
    readonly standbyW: number
  }
  readonly owner: {
    readonly roundS: number
    readonly flowTimes: number
    readonly volumeTimes: number
    readonly saysAmbient: boolean
    readonly saysWhereSensorSits: boolean
  }
}

export function oneOf<T>(random: Random, values: readonly T[]): T {
  const value = values[Math.floor(nextUniform(random) * values.length)]
  if (value === undefined) throw new Error('nothing to choose from')
  return value
}

const chance = (random: Random, share: number) => nextUniform(random) < share
const logBetween = (random: Random, low: number, high: number) =>
  Math.exp(nextBetween(random, Math.log(low), Math.log(high)))

/** Mean, season, clear day, depression of the dew point, season of the dew point: deserts to coasts. */
const PLACES: readonly (readonly [number, number, number, number, number])[] = [
  [12, 5, 4, 3.5, 0.9],
  [8, 13, 7, 5.5, 0.75],
  [21, 9, 10, 17, 0.4],
  [22, 6, 5, 5, 0.9],
  [2, 9, 4, 4, 0.85],
  [15, 7, 6, 8, 0.7],
]

function drawPlace(random: Random): Place {
  const [meanC, seasonK, dayK, depressionK, dewSeason] = oneOf(random, PLACES)
  return {
    meanC: meanC + 2 * nextNormal(random),
    seasonK: seasonK * nextBetween(random, 0.8, 1.2),
    dayK: dayK * nextBetween(random, 0.7, 1.4),
    depressionK: depressionK * nextBetween(random, 0.8, 1.2),
    dewSeason,
    phase: nextUniform(random),
    lagH: logBetween(random, 0.7, 6),
    changesPerH: logBetween(random, 0.2, 4),
    roofK: nextBetween(random, 0, 6),
    heatedToC: chance(random, 0.15) ? nextBetween(random, 8, 17) : null,
    doorsPerDay: logBetween(random, 0.1, 1),
  }
}

function drawSensor(random: Random): Kind['sensor'] {
  return {
    driftShare: nextBetween(random, 0, 0.7),
    driftMin: logBetween(random, 10, 120),
    glitchDays: chance(random, 0.5) ? Number.POSITIVE_INFINITY : logBetween(random, 10, 100),
    soakPct: nextBetween(random, 0, 1.5),
    perKPct: 0.02 * nextNormal(random),
    isFloored: chance(random, 0.3),
  }
}

function draw(random: Random): Kind {
  return {
    gel: oneOf(random, GELS),
    radiusMm: nextBetween(random, 1, 2.2),
    bypass: chance(random, 0.5) ? 0 : nextBetween(random, 0, 0.004),
    bakeLeaves: nextBetween(random, 0, 0.06),
    place: drawPlace(random),
    pocketShare: nextBetween(random, 0, 0.25),
    pocketLPerH: logBetween(random, 3, 60),
    filmTimes: nextBetween(random, 0, 1),
    filmHours: logBetween(random, 0.3, 5),
    oilTimes: nextBetween(random, 0, 6),
    oilHours: logBetween(random, 6, 40),
    poolLPerMin: logBetween(random, 6, 60),
    coolingH: [nextBetween(random, 0.7, 2), nextBetween(random, 2, 6)],
    metalLagH: nextBetween(random, 2, 7),
    stillShare: nextBetween(random, 0.3, 1),
    breathing: nextUniform(random),
    hoseL: nextBetween(random, 0.2, 1.2),
    sensor: drawSensor(random),
    outletMin: oneOf(random, [0, 0, 2, 5, 10]),
    hub: {
      jitterShare: nextBetween(random, 0, 0.15),
      skewS: Math.round(40 * nextNormal(random)),
      ambientEvery: oneOf(random, [1, 2, 3]),
      standbyW: nextBetween(random, 0, 0.6),
    },
    owner: {
      roundS: oneOf(random, [60, 300, 900]),
      flowTimes: Math.exp(0.15 * nextNormal(random)),
      volumeTimes: Math.exp(0.12 * nextNormal(random)),
      saysAmbient: chance(random, 0.8),
      saysWhereSensorSits: chance(random, 0.7),
    },
  }
}

const known = new Map<number, Kind>()

/** The kind of a plan's seed: the same whenever it is asked for. */
export function kindOf(seed: number): Kind {
  const kind = known.get(seed) ?? draw(randomOfSeed(seed * 104_729 + 7))
  if (known.size > 50) known.clear()
  known.set(seed, kind)
  return kind
}
