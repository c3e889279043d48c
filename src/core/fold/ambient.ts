import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { Sample } from '../rules/rule.ts'
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

/**
 * An engine that only follows its hangar is so much warmer by day than in its coldest hour, K: half of a hangar's 15 K
 * between night and noon, of which a lag of four to nine hours leaves half. What is above that is the heat of a flight, and
 * no hangar's. A day after it the coldest hour is of the cooled engine, within a kelvin or two.
 */
const DAY_OVER_NIGHT_K = 4

/** Of a sensor in the engine: no pump warms it, but a flight does. Its coldest hour of the last day bounds the hangar. */
function besideEngineC({ places, metal }: Memory): number | null {
  const nowC = places.return.latest?.tempC ?? null
  return nowC === null || metal.coldestC === null ? nowC : Math.min(nowC, metal.coldestC + DAY_OVER_NIGHT_K)
}

/**
 * Of a sensor in the box, which the pump warms by some degrees: while it runs the last temperature at rest stands, but a
 * hangar is never warmer than the box it warms, and a run may last through an evening.
 */
function besideBoxC({ places, restTempC }: Memory): number | null {
  const nowC = places.return.latest?.tempC ?? null
  return restTempC === null || nowC === null ? restTempC : Math.min(restTempC, nowC)
}

/** Hangar temperature, degC, and whether something else had to stand for it. */
export function hangarTempC(
  memory: Memory,
  settings: RigSettings,
  atS: number,
): { tempC: number; isAssumed: boolean } {
  const hangarC = heardHangarC(memory, atS)
  if (hangarC !== null) return { tempC: hangarC, isAssumed: false }
  const seenC = settings.sensorSits === 'engine' ? besideEngineC(memory) : besideBoxC(memory)
  if (seenC !== null) return { tempC: seenC, isAssumed: true }
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

/**
 * Temperature at which the air of a return reading goes through hoses, pump and beads, degC: the reading's own, but not that
 * of a sensor in the engine, which a flight leaves at 60. It cannot carry more than saturation there.
 */
export function carriedAtC(
  memory: Memory,
  settings: RigSettings,
  sample: Pick<Sample, 'atS' | 'tempC'>,
): number {
  if (sample.tempC === null) return stoodInTempC(memory, settings, sample.atS)
  return settings.sensorSits === 'engine' ? hangarTempC(memory, settings, sample.atS).tempC : sample.tempC
}
