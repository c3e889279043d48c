/** A reading while the pump runs, as the wet gate sees it: whose air may it be? */
export type GatePoint = {
  readonly atS: number
  readonly humidityPct: number
  /** The reading differs from the one before. */
  readonly isNew: boolean
  /** The same air at the temperature that the sensor had when the run began, % RH: a box that the pump warms hides a rise. */
  readonly unwarmedPct: number
  readonly startPct: number
  readonly sigmaPct: number
  /** Water moved since the reading before, g; `null` without a flow. */
  readonly movedG: number | null
  /** How long the usual water of a flight takes at this temperature and flow, s; `null` without a flow. */
  readonly expectedS: number | null
  /** Vapour density over saturation at the metal; `null` where a temperature is missing. */
  readonly evaporatingShare: number | null
  readonly isInEngine: boolean
  /** The settings say so. */
  readonly isSaidInEngine: boolean
  /** The settings say that the sensor sits in the box. */
  readonly isInBox: boolean
  /** The temperature of the metal comes from a sensor in the hangar, not from the box. */
  readonly isMetalMeasured: boolean
  /** Hangar air as this sensor would read it, % RH, and whether it is measured. */
  readonly hangarPct: number
  readonly isHangarMeasured: boolean
  /** Nothing but the air says that the pump runs. */
  readonly isPumpInferred: boolean
  /** The rig looks as if it lay open in the hangar. */
  readonly isUnhooked: boolean
  /** The logbook has flights. */
  readonly areFlightsLogged: boolean
}

/**
 * Air over liquid water leaves an engine nearly saturated at the metal: water in the sump keeps ten times the pump's
 * flow saturated. Over ice 0.9 of that, with a sensor 4 % off 0.8. Hangar air and air from films lie lower, and fall.
 */
const EVAPORATING_SHARE = 0.7
/** The same at 4 L/min, through a pool that clears 6 L/min (see below) and a sensor that is 4 % off. */
const THINNED_SHARE = 0.55
/**
 * What holds an open gate lies lower. A pool of 0.05 m2 gives off water at 2 mm/s, so it clears kA = 6 L/min, and the pump's
 * air comes out at kA/(kA + F) of saturation: 0.6 at 4 L/min. As the pool shrinks to half it is 0.43, over ice 0.9 of that.
 */
const HOLDING_SHARE = 0.38
/**
 * A long run warms the box by up to 8 K, and where the metal's temperature is only assumed from it, 0.8 then reads 0.5, and
 * the above 0.24; the air falls through any such share within an hour once the water is gone.
 */
const HOLDING_SHARE_ASSUMED = 0.24
/** The same without a temperature, % RH: the box may be 8 K warmer than the engine. */
const EVAPORATING_PCT = 45
/** And of a gate that is open, % RH: by day the hangar runs 6 K ahead of the metal besides. */
const HOLDING_PCT = 30
/**
 * Air that has risen to this height without any entry is of a flight that nobody logged, % RH; but not if the hangar's own air
 * can be as wet: then it is a loop that has come open. Two cheap sensors side by side differ by less than 10 %, and in damp
 * air by more: 4 % RH and half a degree of either are 9 % of 75 % RH, and twice that is a chance. Where only the climate is
 * stated, a damp day lies two standard deviations of 12 % RH above its 65 %.
 */
const UNLOGGED_LEVEL_PCT = 80
const OVER_HANGAR_PCT = 10
const OVER_HANGAR_SHARE = 0.2
const OVER_CLIMATE_SHARE = 0.37
/**
 * Air that is moved is thinned on its way through the engine to 0.97 of saturation at the least of pumps, and comes into a box
 * that its pump keeps 2 K warmer or more: 85 %, with a sensor two deviations off 93. Air that stays saturated there stands.
 */
const SATURATED_PCT = 97

/**
 * Air of the hangar, as far as anybody can tell. Without a rise it came with the box: a loop that has come open since would have
 * changed it.
 */
function isMaybeHangar(point: GatePoint, hasRise: boolean): boolean {
  if (point.isInEngine) return false
  return point.isHangarMeasured ? Math.abs(point.humidityPct - point.hangarPct) <= OVER_HANGAR_PCT : hasRise
}

/**
 * Where no hangar air is mistaken for it, what the pump thins it to at the most is enough to open the gate. A sensor that sits in the
 * engine has that air whether or not the pump runs, and where its water is in drops the first dry air takes it down before it
 * comes up again: what holds an open gate is enough.
 */
export function isEvaporating(point: GatePoint, hasRise: boolean): boolean {
  const { evaporatingShare, humidityPct } = point
  if (point.isSaidInEngine) return isStillEvaporating(point)
  if (evaporatingShare === null) return humidityPct >= EVAPORATING_PCT
  return evaporatingShare >= (isMaybeHangar(point, hasRise) ? EVAPORATING_SHARE : THINNED_SHARE)
}

/**
 * The air came down. In a box that is warmer than the engine, air that is saturated at the metal reads 40 %: above `start`, what
 * holds the plateau decides.
 */
export function hasDriedOut(point: GatePoint): boolean {
  const { humidityPct, startPct } = point
  if (humidityPct > 1.5 * startPct) return false
  return humidityPct <= startPct || !isStillEvaporating(point)
}

export function isStillEvaporating({ evaporatingShare, humidityPct, isMetalMeasured }: GatePoint): boolean {
  if (evaporatingShare === null) return humidityPct >= HOLDING_PCT
  return evaporatingShare >= (isMetalMeasured ? HOLDING_SHARE : HOLDING_SHARE_ASSUMED)
}

/** The most that hangar air of `hangarPct` may read, % RH: by another sensor, or on another day of the stated climate. */
export function wettestPct(hangarPct: number, isMeasured: boolean): number {
  const share = isMeasured ? OVER_HANGAR_SHARE : OVER_CLIMATE_SHARE
  return Math.max(hangarPct + OVER_HANGAR_PCT, (1 + share) * hangarPct)
}

/** Wetter than any air the hangar can have had: it comes from an engine. */
export function isEngineAir({
  humidityPct,
  hangarPct,
  isHangarMeasured,
}: Pick<GatePoint, 'humidityPct' | 'hangarPct' | 'isHangarMeasured'>): boolean {
  return humidityPct >= Math.max(UNLOGGED_LEVEL_PCT, wettestPct(hangarPct, isHangarMeasured))
}

/** Saturated in a box whose pump is said to run. */
export function isSaturated({ isInBox, humidityPct }: GatePoint): boolean {
  return isInBox && humidityPct >= SATURATED_PCT
}
