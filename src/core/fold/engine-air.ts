import { referencePerH } from '../trace/ingress.ts'
import { ambientAt } from './ambient.ts'
import type { Work } from './work.ts'

/** The engine's own sensor stands for its air this long, s. */
const AIR_HELD_S = 3600
/** Typical ingress where the rig's own is not learned, 1/h: a sealed engine with a dipstick and plugs. */
const USUAL_INGRESS_PER_H = 0.05

/**
 * Vapour density in the engine at `atS`, g/m3: its own sensor's where there is one; else as sampled while the air moved, and
 * from there on with the rig's ingress. `null` if no such air was ever sampled.
 */
export function engineGm3(work: Work, atS: number): number | null {
  const { memory, settings } = work
  const own = memory.places.engine.latest
  if (own !== null && own.densityGm3 !== null && atS - own.atS <= AIR_HELD_S) return own.densityGm3
  const back = memory.places.return.latest
  if (settings.sensorSits === 'engine' && back !== null && back.densityGm3 !== null) return back.densityGm3
  const air = memory.engineAir
  if (air === null) return null
  const hours = (atS - air.atS) / 3600
  // While the pump runs the air is the sampled one.
  if (hours <= 0) return air.densityGm3
  const perH = referencePerH(memory.ingress, null) ?? USUAL_INGRESS_PER_H
  const ambientGm3 = ambientAt(memory, settings, atS).densityGm3
  return ambientGm3 - (ambientGm3 - air.densityGm3) * Math.exp(-Math.max(0, perH) * hours)
}
