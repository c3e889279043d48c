import { exchangesPerH } from '../trace/drying-pool.ts'
import type { RigSettings } from './inputs.ts'

/** Where flow or volume is not stated: 30 L at 2 L/min, s. */
const USUAL_VOLUME_S = 900

/**
 * Whether a run of `ranS` seconds can have emptied an engine: it has moved the loop's own volume, V/F. Mixing takes ln(start/stop)
 * of that, and walls and oil give back as much again. A box whose hoses are joined to each other, as some are for a flight,
 * holds a twentieth of an engine: it is through its band in two minutes, between two or three posts, and that says nothing of
 * the engine.
 */
export function canHaveEmptied(settings: RigSettings, ranS: number): boolean {
  const perH = exchangesPerH(settings)
  return ranS >= (perH === null ? USUAL_VOLUME_S : 3600 / perH)
}
