import { exchangesPerH } from '../trace/drying-pool.ts'
import type { RigSettings } from './inputs.ts'

/** Where flow or volume is not stated: 30 L at 2 L/min, s. */
const USUAL_VOLUME_S = 900
/** Flow and volume are stated to a fifth or so, and posts show a run a spacing too short: half of the time is asked for. */
const TIME_SHARE = 0.5
/** A limit of next to nothing asks for no more time than this one, % RH. */
const STOP_LEAST_PCT = 1

/**
 * Whether a run of `ranS` seconds can have emptied an engine: mixing alone takes V/F ln(start/stop) from one end of the band to the
 * other. A box whose hoses are joined to each other, as some are for a flight, holds a twentieth of an engine: it is through
 * its band in two minutes, between two or three posts, and that says nothing of the engine.
 */
export function canHaveEmptied(settings: RigSettings, ranS: number): boolean {
  const perH = exchangesPerH(settings)
  const { startPct, stopPct } = settings.band
  const volumeS = perH === null ? USUAL_VOLUME_S : 3600 / perH
  return ranS >= TIME_SHARE * volumeS * Math.log(startPct / Math.max(STOP_LEAST_PCT, stopPct))
}
