import { loadingKgKg } from './isotherm.ts'
import type { BeadKind } from './kinds.ts'

/** Vapour pressure of the room the oven stands in, Pa: 10 to 15 g/m3 indoors is 900 to 1500 Pa. */
export const BAKE_ROOM_PA = 1200

/** One standard deviation of the residual's logarithm: rooms, hours and depth of the layer differ. */
export const BAKE_RESIDUAL_LN_SD = Math.log(1.5)

/** Ovens used for beads, degC: below it nothing is driven out, above it gel loses its structure. */
export const BAKE_MIN_C = 60
export const BAKE_MAX_C = 300

/**
 * Water left in the beads by a bake, kg per kg dry: equilibrium of hot beads with the room's vapour. 120 degC leaves
 * about 0.0095, 100 degC 0.016, each times or over 1.5. Temperatures outside 60..300 degC are taken at the nearer end.
 */
export function bakeResidualKgKg(kind: BeadKind, bakeTempC: number, roomPa = BAKE_ROOM_PA): number {
  return loadingKgKg(kind, roomPa, Math.min(BAKE_MAX_C, Math.max(BAKE_MIN_C, bakeTempC)))
}
