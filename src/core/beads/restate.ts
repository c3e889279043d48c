import { type Bed, type Cells, PARCEL_MAX_L, pushParcel, waterInCellsG } from './bed.ts'
import { bedOf, type EnsembleMemory, isothermOf, memberTakenG, shortenCells } from './ensemble.ts'
import { densityPerPa25 } from './isotherm.ts'

/** So many parcels at most: in dry air as much water as any column takes up. */
const PARCELS_MAX = 20_000
/** Beads that keep less than this share of what the air carries are in balance with it. */
const LEAST_SHARE = 0.1

/**
 * Brings every column to the water that a scale has shown, g since the bake: more of the air that it has met (`inGm3` at `tempC`)
 * goes through it, or its front is drawn back. `lnShift` before that restates what was learned in ledger grams: columns
 * that hold as much more at the same exit air.
 */
export function restateColumns(
  ensemble: EnsembleMemory,
  to: {
    readonly takenG: number
    readonly lnShift: number
    readonly inGm3: number
    readonly tempC: number
  },
): void {
  const factor = Math.exp(to.lnShift)
  ensemble.lnScale = ensemble.lnScale.map((ln) => ln + to.lnShift)
  const perPa25 = densityPerPa25(isothermOf(ensemble.kind).kind, to.tempC)
  for (const [member, cells] of ensemble.cells.entries()) {
    const bed = bedOf(ensemble, member)
    for (let cell = 0; cell < cells.length; cell++) cells[cell] = (cells[cell] ?? 0) * factor
    const nowG = memberTakenG(ensemble, member, bed)
    if (nowG > to.takenG) drawBack(cells, ensemble.residualKgKg * bed.scale, to.takenG / nowG)
    else wet(cells, bed, to.takenG - nowG, { inGm3: to.inGm3, perPa25 })
    shortenCells(cells)
  }
}

/** The same front, `share` as far into the column: what lies above the bake's residual is moved towards the inlet. */
function drawBack(cells: Cells, residual: number, share: number): void {
  const count = cells.length
  const upTo = new Float64Array(count + 1)
  for (let cell = 0; cell < count; cell++) upTo[cell + 1] = (upTo[cell] ?? 0) + (cells[cell] ?? 0) - residual
  const within = (place: number): number => {
    const cell = Math.min(count - 1, Math.floor(place))
    const before = upTo[cell] ?? 0
    return before + Math.min(1, place - cell) * ((upTo[cell + 1] ?? 0) - before)
  }
  const at = (place: number): number => share * within(share > 0 ? Math.min(count, place / share) : count)
  for (let cell = 0; cell < count; cell++) cells[cell] = residual + at(cell + 1) - at(cell)
}

/** `grams` more from air of `inGm3`; what beads in balance with it do not take lies evenly in the column. */
function wet(
  cells: Cells,
  bed: Bed,
  grams: number,
  air: { readonly inGm3: number; readonly perPa25: number },
): void {
  const toG = waterInCellsG(cells, bed) + grams
  let leftG = grams
  for (let parcel = 0; parcel < PARCELS_MAX && leftG > 0 && air.inGm3 > 0; parcel++) {
    const volumeL = Math.min(PARCEL_MAX_L, (1000 * leftG) / air.inGm3)
    const outGm3 = pushParcel(cells, bed, { ...air, volumeL })
    if (air.inGm3 - outGm3 < LEAST_SHARE * air.inGm3) break
    leftG -= ((air.inGm3 - outGm3) * volumeL) / 1000
  }
  const eachKgKg = (toG - waterInCellsG(cells, bed)) / (cells.length * bed.cellMassG)
  for (let cell = 0; cell < cells.length; cell++) cells[cell] = (cells[cell] ?? 0) + eachKgKg
}
