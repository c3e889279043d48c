import { vapourDensityGm3 } from '../air/vapour.ts'
import { type Bed, type Cells, PARCEL_MAX_L, pushParcel } from './bed.ts'
import { densityPerPa25, pressure25Pa } from './isotherm.ts'

/** How water reaches the beads of one rig. */
export type UptakeMix = {
  /** Flights a day; 0 for none. */
  readonly flightsPerDay: number
  readonly gPerFlight: number
  readonly idleGPerDay: number
  /** RH of the air that idle water arrives with, %: the middle of the band. */
  readonly idlePct: number
  /** RH of the air that flight water arrives with, %. */
  readonly flightPct: number
  readonly bedTempC: number
  /** The fill is used up when the exit air reaches this, % RH at the bed's temperature. */
  readonly stopPct: number
}

export type SpentAfter = {
  /** Water taken up from the given state on until the exit reaches `stopPct`, g. */
  readonly waterG: number
  readonly days: number
  readonly flights: number
  /** False where the run was ended by its limits: nothing more than "later than this" is known. */
  readonly isSpent: boolean
}

/** Air from the crankcase right after a flight, % RH (common practice, no published source). */
export const FLIGHT_AIR_PCT = 98

/** The forward run stops here: nobody plans further, and a rig without uptake never ends. */
export const FORECAST_DAYS_MAX = 1500
const PARCELS_MAX = 20_000

/** A round that brings less than this, g, brings nothing: such a bed is never used up. */
const NOTHING_G = 1e-9

/**
 * No parcel brings more than this share of a cell's mass: the front stays sharp, the step stable. An eighth of it moves
 * what a bed of 0.5 to 3 kg takes up by under 1 %, or by one flight.
 */
const PARCEL_SHARE_MAX = 0.004

type Run = {
  readonly cells: Float64Array
  readonly bed: Bed
  readonly perPa25: number
  readonly spentGm3: number
  parcels: number
  isSpent: boolean
}

/** Pushes air of one density until `waterG` has been left behind or the exit is spent; returns the grams left behind. */
function takeUp(run: Run, waterG: number, inGm3: number): number {
  const { cells, bed, perPa25 } = run
  const mostL = Math.max(PARCEL_MAX_L, (PARCEL_SHARE_MAX * bed.cellMassG * 1000) / inGm3)
  let takenG = 0
  while (takenG < waterG - 1e-9) {
    const last = cells[cells.length - 1] ?? 0
    const outGm3 = perPa25 * pressure25Pa(bed.isotherm, last / bed.scale)
    run.isSpent = outGm3 >= run.spentGm3
    if (run.isSpent || run.parcels++ >= PARCELS_MAX) break
    const volumeL = Math.min(mostL, ((waterG - takenG) * 1000) / Math.max(inGm3 - outGm3, 1e-6))
    pushParcel(cells, bed, { inGm3, volumeL, perPa25 })
    takenG += ((inGm3 - outGm3) * volumeL) / 1000
  }
  return takenG
}

/**
 * Runs a bed forward at a rig's pace until its exit air reaches `stopPct`: the capacity when started from a bake, what
 * is left when started from today's cells. The given cells stay as they are. `days` are 1500 at most.
 * The grams of one day without flights, or of one interval between flights, are taken in one go.
 */
export function runUntilSpent(cells: Cells, bed: Bed, mix: UptakeMix): SpentAfter {
  const run: Run = {
    cells: new Float64Array(cells),
    bed,
    perPa25: densityPerPa25(bed.isotherm.kind, mix.bedTempC),
    spentGm3: vapourDensityGm3(mix.stopPct, mix.bedTempC),
    parcels: 0,
    isSpent: false,
  }
  const idleGm3 = vapourDensityGm3(mix.idlePct, mix.bedTempC)
  const flightGm3 = vapourDensityGm3(mix.flightPct, mix.bedTempC)
  const intervalDays =
    mix.flightsPerDay > 0 ? Math.min(1 / mix.flightsPerDay, FORECAST_DAYS_MAX) : FORECAST_DAYS_MAX
  let waterG = 0
  let days = 0
  let flights = 0
  // What a bed holds has nothing to do with how long nobody plans: only the days are cut.
  while (!run.isSpent && run.parcels < PARCELS_MAX) {
    const beforeG = waterG
    const idleG = mix.idleGPerDay * intervalDays
    const takenG = takeUp(run, idleG, idleGm3)
    waterG += takenG
    days += idleG > 0 ? (intervalDays * takenG) / idleG : intervalDays
    if (!run.isSpent && mix.flightsPerDay > 0) {
      const flightG = takeUp(run, mix.gPerFlight, flightGm3)
      waterG += flightG
      flights += mix.gPerFlight > 0 ? flightG / mix.gPerFlight : 1
    }
    if (waterG - beforeG < NOTHING_G) break
  }
  const isInTime = days <= FORECAST_DAYS_MAX
  return {
    waterG,
    days: isInTime && run.isSpent ? days : FORECAST_DAYS_MAX,
    flights,
    isSpent: run.isSpent && isInTime,
  }
}
