import { type FastIsotherm, densityPerPa25, pressure25Pa } from './isotherm.ts'

/** A parcel must stay small beside a cell: 20 L of wet air carry 0.4 g into a quarter of a kilogram. */
export const PARCEL_MAX_L = 20
const CELLS_MIN = 2
const CELLS_MAX = 12

/**
 * Cells that stand for a column of `massG`: about a quarter of a kilogram each. More cells make a sharper front;
 * between 2 and 12 the exit of columns of 0.5 to 3 kg is met.
 */
export function bedCellCount(massG: number): number {
  return Math.min(CELLS_MAX, Math.max(CELLS_MIN, Math.round((4 * massG) / 1000)))
}

/** What does not change while parcels pass: the beads and how they compare with the published curve. */
export type Bed = {
  readonly isotherm: FastIsotherm
  /** Dry mass of one cell, g. */
  readonly cellMassG: number
  /** Loading of these beads over that of the published curve at the same vapour pressure. */
  readonly scale: number
}

/** Loading of every cell, kg/kg, from the inlet; changed in place by `pushParcel`. */
export type Cells = number[] | Float64Array

/** Air of a vapour density; `perPa25` as in `densityPerPa25`. */
export type Parcel = { readonly inGm3: number; readonly volumeL: number; readonly perPa25: number }

/** Fresh cells at an even loading. */
export function evenCells(count: number, loading: number): number[] {
  return Array.from({ length: count }, () => loading)
}

/**
 * Pushes one parcel of air through the cells and returns the vapour density at the exit, g/m3. A cell takes up what
 * the parcel brings above its equilibrium, so no water is made or lost. `perPa25` is `densityPerPa25` at the bed's
 * temperature, computed once for all parcels and beds of that moment. Changes `cells`.
 */
export function pushParcel(cells: Cells, bed: Bed, parcel: Parcel): number {
  const perG = parcel.volumeL / 1000 / bed.cellMassG
  const perScale = 1 / bed.scale
  // A few grams, or beads that a broken sensor says are as hot as an oven: the air above a cell would change by more than it is.
  const steepness = perG * parcel.perPa25 * bed.isotherm.steepestPa * perScale
  if (steepness > 1) return pushParts(cells, bed, parcel, Math.min(PARTS_MAX, Math.ceil(steepness)))
  let airGm3 = parcel.inGm3
  for (let i = 0; i < cells.length; i++) {
    const loading = cells[i] ?? 0
    const aboveGm3 = parcel.perPa25 * pressure25Pa(bed.isotherm, loading * perScale)
    cells[i] = loading + (airGm3 - aboveGm3) * perG
    airGm3 = aboveGm3
  }
  return airGm3
}

/** Ten grams in parcels of 100 L at 120 degC need as many. */
const PARTS_MAX = 4000

/** The same parcel in parts so small that no cell goes past its balance with the air; the mean of their exits. */
function pushParts(cells: Cells, bed: Bed, parcel: Parcel, parts: number): number {
  const part = { ...parcel, volumeL: parcel.volumeL / parts }
  let sum = 0
  for (let i = 0; i < parts; i++) sum += pushParcel(cells, bed, part)
  return sum / parts
}

/** Vapour density that the exit of the column would have now, g/m3. */
export function exitGm3(cells: Cells, bed: Bed, tempC: number): number {
  const last = cells[cells.length - 1] ?? 0
  return densityPerPa25(bed.isotherm.kind, tempC) * pressure25Pa(bed.isotherm, last / bed.scale)
}

/** Water in the cells, g. */
export function waterInCellsG(cells: Cells, bed: Bed): number {
  let sum = 0
  for (let i = 0; i < cells.length; i++) sum += cells[i] ?? 0
  return sum * bed.cellMassG
}
