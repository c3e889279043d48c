import { saturationDensityGm3 } from '../air/vapour.ts'
import type { Moment, Sample } from './rule.ts'

/** Temperature that drying rates are stated at, degC. */
const REFERENCE_C = 15
const REFERENCE_GM3 = saturationDensityGm3(REFERENCE_C)

/** Where no temperature is reported, degC: humidity is then judged as if it never changed. */
const ASSUMED_C = 20

/** To take the hoses off, fly and hook up again takes an hour at least, min: what nobody saw for so long may have been a flight. */
export const FLIGHT_MIN = 60

/** For so long after a flight films and oil give back water, and the rig's usual rate says nothing, s. */
export const AFTER_FLIGHT_S = 5 * 86_400

const FLIGHT_DAY_S = 86_400

/** True on the day of a flight in the logbook. */
export function isFlightDay({ flightAtS, atS }: Moment): boolean {
  return flightAtS !== null && atS - flightAtS < FLIGHT_DAY_S
}

/** True in the days after a flight, logged or not, in which stored water, not the loop, sets the pace. */
export function isAfterFlight(moment: Moment): boolean {
  return isWettedWithin(moment, AFTER_FLIGHT_S)
}

function isWettedWithin({ wettedAtS, atS }: Moment, withinS: number): boolean {
  return wettedAtS !== null && atS - wettedAtS < withinS
}

/**
 * The same as far as a run's own air goes: what is left in films and oil comes out the more slowly the colder it is.
 */
export function isGivingBack(moment: Moment): boolean {
  return isWettedWithin(moment, AFTER_FLIGHT_S * slownessOf(moment))
}

/** A preheated engine gives off water and breathes for a day: rates then say nothing about pump or seal. */
const PREHEAT_S = 86_400

export function isPreheated(moment: Moment): boolean {
  return moment.preheatAtS !== null && moment.atS - moment.preheatAtS < PREHEAT_S
}

/**
 * True while an inferred run may be no run at all: a flight was logged and the rig is not known to be back, so the sensor
 * may well lie in the hangar's air with the pump off. That nothing has dried since is what left-off says.
 */
export function isMaybeOff({ pump, unansweredFlightAtS }: Moment): boolean {
  return pump.basis === 'inferred' && unansweredFlightAtS !== null
}

/**
 * A run that began with hangar air from where no pump starts is a rig that was taken off for a flight, far more often than a
 * loop that came open in that very minute; but its outlet is on, and a loop has to be told within three hours: for so long,
 * s, it may be a flight, and the last quarter is left to posts and blocks of readings.
 */
const SPRUNG_FOR_S = 2.75 * 3600

/** True while nothing is said of the air of such a run. */
export function isMaybeTakenOff({ isRunSprung, pump, atS }: Moment): boolean {
  return isRunSprung && atS - (pump.sinceS ?? atS) < SPRUNG_FOR_S
}

/**
 * The slowest drying a working pump would show now, 1/h. The rig's 5 % quantile, scaled down in the cold: most of the
 * water that a run moves sits in films in step with RH, so at a given flow the rate goes with the saturated density.
 * The same in the days after a flight: oil that gives back water lifts what the air heads for (by less than two thirds of
 * where it started, at 6 times the air's own water within 6 h and 1 L/min), it does not slow the way there.
 */
export function slowestPerH(moment: Moment): number {
  return moment.kPerH.low / slownessOf(moment)
}

/**
 * How many times longer than at 15 degC the engine's water takes: what a litre of air carries away of drops, films and oil goes
 * with the saturated density at the metal, so this is 2.6 at 0 degC and 5.4 at -10 degC, and nowhere less than 1.
 */
export function slownessOf(moment: Moment): number {
  const tempC = moment.metalTempC ?? moment.latest.return?.tempC ?? null
  if (tempC === null || tempC >= REFERENCE_C) return 1
  return REFERENCE_GM3 / saturationDensityGm3(tempC)
}

/**
 * The apparent floor's upper 95 % end in % RH. A floor goes with RH, not with density: exit air and films are in
 * equilibrium at their own temperature. Before it is learned, `stop`: a rig in order gets below it.
 */
export function floorHighPct(moment: Moment): number {
  const { floorGm3, switchStopPct } = moment
  if (floorGm3 === null) return switchStopPct
  return (100 * floorGm3.high) / saturationDensityGm3(moment.latest.return?.tempC ?? ASSUMED_C)
}

/**
 * Weight of one percent RH at a temperature, in g/m3, where `ratio` times the gas's own water at 15 degC sits in walls
 * and hoses: 0 is vapour density, a large one is RH.
 */
export function waterWeight(tempC: number | null, ratio: number): number {
  return saturationDensityGm3(tempC ?? ASSUMED_C) + ratio * REFERENCE_GM3
}

/** What the band is judged by: the reading as it was reported; `null` without a humidity or from another place. */
export function returnPct(sample: Sample): number | null {
  return sample.place === 'return' ? sample.humidityPct : null
}

/** Standard error of one reading, % RH: its noise, and what a step rounds off. */
export function readingErrorPct({ sensor }: Moment): number {
  return Math.hypot(sensor.sigmaPct, sensor.stepPct / Math.sqrt(12))
}
