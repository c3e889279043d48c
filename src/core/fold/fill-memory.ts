import type { EnsembleMemory, ScaleBelief } from '../beads/ensemble.ts'
import type { MembersLeft, Odds } from '../beads/forecast.ts'
import type { Holds } from '../beads/holds.ts'
import { startUptake, type UptakeMemory } from '../beads/uptake.ts'
import type { LineSums } from '../stats/line-fit.ts'
import type { FloorTrendMemory } from '../trace/floor-trend.ts'
import type { Forecast } from './outputs.ts'

/** The load of beads in the column. */
export type FillMemory = {
  fromS: number
  jar: string | null
  massG: number | null
  /** Of its jar, as an entry stated it, g; `null`: as the settings have it. */
  statedMassG: number | null
  kind: string
  bakeTempC: number | null
  /** False for a load that was already running when the rig was first seen: how much it holds is not known. */
  isKnown: boolean
  flights: number
  flightG: number
  idleG: number
  /** Of both, what came in wet air, g. */
  wetG: number
  ensemble: EnsembleMemory | null
  /** Air waiting to be pushed as one parcel: litres, and litres times g/m3. */
  pendingL: number
  pendingSum: number
  pendingTempC: number
  /** Exit air at the last parcel, g/m3. */
  exitGm3: number | null
  /** Saturation density times volume of all air moved, g: what an offset of 100 % RH would have added. */
  saturatedG: number
  /** Variance of the water taken up in gaps, g2. */
  gapVariance: number
  weighedAtS: number | null
  /** Apparent floor of the first runs, % RH: mean and count. */
  freshFloorPct: number
  freshCount: number
  longRunAtS: number | null
  /** The floor that weighs the columns was read while the engine may have been wet. */
  isFloorUnsure: boolean
  floors: FloorTrendMemory
  /** The floor on the hangar's measured air, both % RH in the box. */
  floorOnAmbient: LineSums
  left: MembersLeft | null
  leftAtS: number
  leftTakenG: number
  /** The pace the members were run forward at: flights a day, g a flight, idle g a day. */
  leftPace: [number, number, number]
  forecast: Forecast | null
  /** What beads-spent weighs; made with the forecast. */
  odds: Odds | null
  spentAtS: number | null
  /** What the true path leaves of a capacity run forward, as this jar's last fill showed. */
  pathShare: number
  /** Ledger when runs began to stand above `stop` and got no lower, g; `null` while they end at it. */
  overAtG: number | null
  /** What it is believed to hold by the jar's earlier fills; `null` if none was used up. */
  holds: Holds | null
  gross: GrossMemory | null
}

/** The gross weighings of a fill. */
export type GrossMemory = {
  /** The first: g on the scale, the ledger then and its error, g. */
  first: { grams: number; takenG: number; sdG: number }
  /** The last that told of the flow: g on the scale, and where the ledger has been counted from since, g. */
  grams: number
  takenG: number
  isUsed: boolean
  /** The last one: g on the scale, the ledger after it, its error, and the part of it that came since the first, g. */
  atGrams: number
  toldG: number
  sdG: number
  sinceSdG: number
}

export type JarMemory = {
  name: string
  belief: ScaleBelief
  pathShare: number
  /** What its fills held when they were used up, by the ledger; `null` until one was. */
  holds: Holds | null
  /** As an entry stated it, g; `null`: what the settings say. */
  statedMassG: number | null
  kind: string
  usedAtS: number
  /** Its last fill, of which no scale has told yet: the ledger, g, and the flow belief that it was counted with, ln. */
  out: { takenG: number; flowLn: number } | null
}

export type BeadsMemory = {
  fill: FillMemory | null
  jars: JarMemory[]
  uptake: UptakeMemory
  /** ln of true water over the ledger's: the flow as stated is rarely the flow; a weighing tells. */
  flowLn: { mean: number; sd: number }
  /** Fills that were weighed, and the sum of squares of what their ledgers were off beside the flow, ln2. */
  weighings: { count: number; squares: number }
  /** Air of an inferred run that may have been none: litres, litres times g/m3, degC. */
  held: { litres: number; sum: number; tempC: number } | null
  forecastDay: number
  /** Running mean of the metal's temperature, degC: the bed's in a forecast. */
  tempC: number | null
  /** Where an older analysis, whose readings are gone, saw the load that runs when this one begins; else it is new. */
  unknownFromS?: number
}

/** Flow as stated against the true one, ln: meters of small pumps and filters that clog. */
export const FLOW_PRIOR = { mean: 0, sd: 0.2 } as const

export function startBeads(): BeadsMemory {
  return {
    fill: null,
    jars: [],
    uptake: startUptake(),
    flowLn: { ...FLOW_PRIOR },
    weighings: { count: 0, squares: 0 },
    held: null,
    forecastDay: 0,
    tempC: null,
  }
}
