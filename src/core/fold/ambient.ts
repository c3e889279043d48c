import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { RigSettings } from './inputs.ts'
import type { Memory } from './memory.ts'

/**
 * Assumed where the owner has not said where the rig stands: a temperate hangar. Always named as assumed. Not one object: it
 * would be of the same shape as stated climates and outlive them, and V8 compiled `ambientAt` anew two thousand times
 * a year.
 */
const ASSUMED_HUMIDITY_PCT = 60
const ASSUMED_CLIMATE_C = 15

/** An ambient reading stands for the hangar this long, s: weather moves slower than that. */
const AMBIENT_HELD_S = 6 * 3600

export type Ambient = {
  readonly densityGm3: number
  readonly humidityPct: number
  readonly tempC: number | null
  readonly isMeasured: boolean
}

/** Hangar air at `atS`: from its sensor, else the stated climate, else the assumed one. */
export function ambientAt(memory: Memory, settings: RigSettings, atS: number): Ambient {
  const sample = memory.places.ambient.latest
  if (sample !== null && atS - sample.atS <= AMBIENT_HELD_S && sample.densityGm3 !== null) {
    const humidityPct = sample.correctedPct ?? sample.humidityPct ?? 0
    return { densityGm3: sample.densityGm3, humidityPct, tempC: sample.tempC, isMeasured: true }
  }
  const humidityPct = settings.ambient?.humidityPct ?? ASSUMED_HUMIDITY_PCT
  const tempC = settings.ambient?.tempC ?? ASSUMED_CLIMATE_C
  const densityGm3 = (humidityPct / 100) * heldSaturationGm3(tempC)
  return { densityGm3, humidityPct, tempC: null, isMeasured: false }
}

/** The hangar's temperature as its sensor last told it, with or without a humidity; `null` where it has not of late. */
export function heardHangarC({ places }: Memory, atS: number): number | null {
  const { heardAtS, heldTempC } = places.ambient
  return heardAtS !== null && atS - heardAtS <= AMBIENT_HELD_S ? heldTempC : null
}

/** Temperature assumed for grams where nothing measures or states one, degC. */
export const ASSUMED_TEMP_C = 20

/** The temperature that stands for a return reading without one: the hangar's, the stated climate's, else 20 degC. */
export function stoodInTempC(memory: Memory, settings: RigSettings, atS: number): number {
  return heardHangarC(memory, atS) ?? settings.ambient?.tempC ?? ASSUMED_TEMP_C
}

/** Hangar temperature, degC, and whether something else had to stand for it. */
export function hangarTempC(
  memory: Memory,
  settings: RigSettings,
  atS: number,
): { tempC: number; isAssumed: boolean } {
  const hangarC = heardHangarC(memory, atS)
  if (hangarC !== null) return { tempC: hangarC, isAssumed: false }
  // The pump warms its box by some degrees: while it runs the last temperature at rest stands, but a hangar is never
  // warmer than the box it warms, and a run may last through an evening.
  const boxC = memory.restTempC
  const nowC = memory.places.return.latest?.tempC ?? null
  if (boxC !== null) return { tempC: nowC === null ? boxC : Math.min(boxC, nowC), isAssumed: true }
  return { tempC: settings.ambient?.tempC ?? ASSUMED_CLIMATE_C, isAssumed: true }
}

/**
 * Hangar air at `hangarC` as a sensor at `tempC` reads it, % RH: the pump warms its box. Without a temperature there, as it is.
 * Of a stated climate a season keeps the humidity and a night the vapour, up to saturation: the wetter of the two may be
 * there.
 */
export function readAsPct(ambient: Ambient, hangarC: number, tempC: number | null): number {
  if (tempC === null) return ambient.humidityPct
  const saturationGm3 = heldSaturationGm3(hangarC)
  const humidGm3 = (ambient.humidityPct / 100) * saturationGm3
  const vapourGm3 = ambient.isMeasured ? humidGm3 : Math.max(humidGm3, ambient.densityGm3)
  return (100 * Math.min(saturationGm3, vapourGm3)) / heldSaturationGm3(tempC)
}
