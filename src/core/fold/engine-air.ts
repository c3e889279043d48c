import { referencePerH } from '../trace/ingress.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { ambientAt, hangarTempC, stoodInTempC } from './ambient.ts'
import type { Work } from './work.ts'

/** The engine's own sensor stands for its air this long, s. */
const AIR_HELD_S = 3600
/** Typical ingress where the rig's own is not learned, 1/h: a sealed engine with a dipstick and plugs. */
const USUAL_INGRESS_PER_H = 0.05

/**
 * Air of which no temperature is known stands for its humidity alone: at the metal it has the same, whatever was assumed of
 * either, g/m3.
 */
export function atMetalGm3(
  { memory, settings, gridS }: Work,
  densityGm3: number,
  tempC: number | null,
): number {
  if (tempC !== null) return densityGm3
  const metalGm3 = heldSaturationGm3(hangarTempC(memory, settings, gridS).tempC)
  return (densityGm3 * metalGm3) / heldSaturationGm3(stoodInTempC(memory, settings, gridS))
}

/**
 * Vapour density in the engine at `atS`, g/m3: its own sensor's where there is one; else as sampled while the air moved, and
 * from there on with the rig's ingress. `null` if no such air was ever sampled.
 */
export function engineGm3(work: Work, atS: number): number | null {
  const { memory, settings } = work
  const own = memory.places.engine.latest
  if (own !== null && own.densityGm3 !== null && atS - own.atS <= AIR_HELD_S)
    return atMetalGm3(work, own.densityGm3, own.tempC)
  const back = memory.places.return.latest
  if (settings.sensorSits === 'engine' && back !== null && back.densityGm3 !== null)
    return atMetalGm3(work, back.densityGm3, back.tempC)
  const air = memory.engineAir
  if (air === null) return null
  const sampledGm3 = atMetalGm3(work, air.densityGm3, air.tempC)
  const hours = (atS - air.atS) / 3600
  // While the pump runs the air is the sampled one.
  if (hours <= 0) return sampledGm3
  const perH = referencePerH(memory.ingress, null) ?? USUAL_INGRESS_PER_H
  const ambientGm3 = ambientAt(memory, settings, atS).densityGm3
  return ambientGm3 - (ambientGm3 - sampledGm3) * Math.exp(-Math.max(0, perH) * hours)
}

/** Temperature of the engine by a sensor in it, degC: after a flight far from what the hangar's makes of the metal. */
export function engineSensorC({ memory, settings, gridS }: Work): number | null {
  const own = memory.places.engine.latest
  if (own !== null && own.densityGm3 !== null && gridS - own.atS <= AIR_HELD_S) return own.tempC
  return settings.sensorSits === 'engine' ? (memory.places.return.latest?.tempC ?? null) : null
}
