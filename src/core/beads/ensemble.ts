import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { bakeResidualKgKg } from './bake.ts'
import { type Bed, bedCellCount, evenCells, pushParcel, waterInCellsG } from './bed.ts'
import { densityPerPa25, type FastIsotherm, pressure25Pa, tabulateIsotherm } from './isotherm.ts'
import { rounded } from '../stats/rounded.ts'
import { BEAD_KINDS, type BeadKind, findBeadKind } from './kinds.ts'

/**
 * What is not known of one load of beads is constant over its life: how much these beads hold beside the published
 * curve, how sharp the front is. As white noise it would average away and the intervals would lie; so the same water
 * goes through a small ensemble of columns, and evidence weighs the columns.
 */
export type EnsembleMemory = {
  kind: string
  massG: number
  residualKgKg: number
  /** ln of the capacity scale of each of the nine scales. */
  lnScale: number[]
  /** Cells of each front shape, ascending, and how likely it is before any evidence. */
  counts: number[]
  shares: number[]
  /** Weight of each member, scale-major; they sum to 1. */
  weights: number[]
  cells: number[][]
  /** Likelihood of each member by the newest evidence of each kind. */
  evidence: Partial<Record<EvidenceKind, number[]>>
}

export const EVIDENCE_KINDS = ['run-time', 'floor', 'supply', 'loop-test', 'scale'] as const
export type EvidenceKind = (typeof EVIDENCE_KINDS)[number]

/** What is believed of ln(capacity scale): normal. */
export type ScaleBelief = { mean: number; sd: number }

/**
 * Capacity beside the published curve before anything is known: real loads are older, dustier and baked less evenly
 * than a laboratory sample (median 0.85). Published curves of regular gel differ by a quarter at 6 % RH (0.044 to 0.060
 * kg/kg), age and oil take a fifth more or less, and the flow that counts the water is stated to a fifth:
 * hypot(0.25, 0.2, 0.2). A factor of 1.6 and more either way held every truth of a hundred first fills, which an 80 %
 * interval must not.
 */
export const SCALE_PRIOR: ScaleBelief = { mean: Math.log(0.85), sd: 0.38 }

/** From one fill of a jar to its next: beads age and bakes differ. */
const NEXT_FILL_SD = 0.1

const Z = [-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2] as const
/**
 * Fronts as blunt as a quarter of a kilogram a cell, and sharper: beads of 3 mm in a slow stream come to balance within a
 * centimetre, and a favourable isotherm sharpens its front; channels, walls and rests between runs blunt it again.
 */
const COUNT_FACTORS = [1, 1.8, 3] as const
const COUNT_WEIGHTS = [0.3, 0.4, 0.3] as const
const CELLS_MIN = 2
const CELLS_MAX = 12

const tables = new Map<string, FastIsotherm>()

/** The curve of a kind, tabulated once and held. Unknown kinds are taken as regular gel. */
export function isothermOf(kindName: string): FastIsotherm {
  const known = tables.get(kindName)
  if (known !== undefined) return known
  const kind: BeadKind | undefined = findBeadKind(kindName) ?? BEAD_KINDS[0]
  if (kind === undefined) throw new RangeError('there are no bead kinds')
  const table = tabulateIsotherm(kind)
  // Only published kinds are held, so that no mistyped name can grow the table.
  if (kind.name === kindName) tables.set(kindName, table)
  return table
}

/** Front shapes of a column. In a heavy one several come out with the most cells there may be: those are one shape. */
function shapesOf(massG: number): { counts: number[]; shares: number[] } {
  const usual = bedCellCount(massG)
  const counts: number[] = []
  const shares: number[] = []
  for (const [index, factor] of COUNT_FACTORS.entries()) {
    const count = Math.min(CELLS_MAX, Math.max(CELLS_MIN, Math.round(usual * factor)))
    const share = COUNT_WEIGHTS[index] ?? 0
    if (counts.at(-1) === count) shares.push((shares.pop() ?? 0) + share)
    else {
      counts.push(count)
      shares.push(share)
    }
  }
  return { counts, shares }
}

export function priorWeight(scale: number, share: number): number {
  return Math.exp(-0.5 * (Z[scale] ?? 0) ** 2) * share
}

/** A load of beads as it was baked: dry mass, g, and the oven, degC. */
export type Load = { readonly kind: string; readonly massG: number; readonly bakeTempC: number }

/** A freshly baked load. */
export function startEnsemble(fill: Load, belief: ScaleBelief): EnsembleMemory {
  const residualKgKg = bakeResidualKgKg(isothermOf(fill.kind).kind, fill.bakeTempC)
  const lnScale = Z.map((z) => belief.mean + z * belief.sd)
  const { counts, shares } = shapesOf(fill.massG)
  const weights: number[] = []
  const cells: number[][] = []
  for (let index = 0; index < lnScale.length; index++) {
    const ln = lnScale[index] ?? 0
    for (let shape = 0; shape < counts.length; shape++) {
      weights.push(priorWeight(index, shares[shape] ?? 0))
      // The same oven air leaves more water in beads that hold more.
      cells.push(evenCells(counts[shape] ?? CELLS_MIN, residualKgKg * Math.exp(ln)))
    }
  }
  const ensemble = {
    kind: fill.kind,
    massG: fill.massG,
    residualKgKg,
    lnScale,
    counts,
    shares,
    weights,
    cells,
    evidence: {},
  }
  normalise(ensemble)
  return ensemble
}

/** The cells of all members as the bake left them. */
export function freshCells(ensemble: EnsembleMemory): number[][] {
  return ensemble.cells.map((cells, member) =>
    evenCells(cells.length, ensemble.residualKgKg * bedOf(ensemble, member).scale),
  )
}

/** Decimals of a weight: their sum is then 1 to a few in ten million, which no interval shows. */
export const WEIGHT_DECIMALS = 7

export function normalise(ensemble: EnsembleMemory): void {
  let sum = 0
  for (const weight of ensemble.weights) sum += weight
  for (let index = 0; index < ensemble.weights.length; index++) {
    ensemble.weights[index] = rounded((ensemble.weights[index] ?? 0) / sum, WEIGHT_DECIMALS)
  }
}

/** The column that a member is. */
export function bedOf(ensemble: EnsembleMemory, member: number): Bed {
  const shapes = ensemble.counts.length
  return {
    isotherm: isothermOf(ensemble.kind),
    cellMassG: ensemble.massG / (ensemble.counts[member % shapes] ?? 1),
    scale: Math.exp(ensemble.lnScale[Math.floor(member / shapes)] ?? 0),
  }
}

/** Everything about a bed but its cells, made once per call of the fold: parcels come by the ten thousand. */
export function bedsOf(ensemble: EnsembleMemory): Bed[] {
  return ensemble.weights.map((_, member) => bedOf(ensemble, member))
}

/** Loadings are kept to this part of a kg/kg: a millionth of a gram in the largest cell, half the digits to store. */
const CELL_PARTS = 1e8

export function shortenCells(cells: number[]): void {
  for (let index = 0; index < cells.length; index++) {
    cells[index] = Math.floor((cells[index] ?? 0) * CELL_PARTS + 0.5) / CELL_PARTS
  }
}

/** Pushes one parcel (at most 20 L) through all members; returns the weighted exit air, g/m3. Changes the cells. */
export function pushEnsemble(
  ensemble: EnsembleMemory,
  beds: readonly Bed[],
  parcel: { readonly inGm3: number; readonly volumeL: number; readonly tempC: number },
): number {
  const isotherm = isothermOf(ensemble.kind)
  const moving = {
    inGm3: parcel.inGm3,
    volumeL: parcel.volumeL,
    perPa25: densityPerPa25(isotherm.kind, parcel.tempC),
  }
  let exit = 0
  for (let member = 0; member < ensemble.cells.length; member++) {
    const cells = ensemble.cells[member]
    const bed = beds[member]
    if (cells === undefined || bed === undefined) continue
    exit += (ensemble.weights[member] ?? 0) * pushParcel(cells, bed, moving)
    shortenCells(cells)
  }
  return exit
}

/** Exit air of one member as % RH at `tempC`. */
export function memberExitPct(ensemble: EnsembleMemory, member: number, tempC: number): number {
  const isotherm = isothermOf(ensemble.kind)
  const last = ensemble.cells[member]?.at(-1) ?? 0
  const scale = Math.exp(ensemble.lnScale[Math.floor(member / ensemble.counts.length)] ?? 0)
  const exitGm3 = densityPerPa25(isotherm.kind, tempC) * pressure25Pa(isotherm, last / scale)
  return (100 * exitGm3) / heldSaturationGm3(tempC)
}

/** Exit air of a freshly baked column, % RH at `tempC`: the same for all members. */
export function freshExitPct(ensemble: EnsembleMemory, tempC: number): number {
  const isotherm = isothermOf(ensemble.kind)
  const exitGm3 = densityPerPa25(isotherm.kind, tempC) * pressure25Pa(isotherm, ensemble.residualKgKg)
  return (100 * exitGm3) / heldSaturationGm3(tempC)
}

/**
 * Weighted exit air, % RH at `tempC`. No member counts for more than `mostPct`: where that is asked for, some that were used up long
 * ago would outweigh the rest.
 */
export function exitPct(ensemble: EnsembleMemory, tempC: number, mostPct = Infinity): number {
  let sum = 0
  for (let member = 0; member < ensemble.weights.length; member++) {
    sum += (ensemble.weights[member] ?? 0) * Math.min(mostPct, memberExitPct(ensemble, member, tempC))
  }
  return sum
}

/** Water taken up since the bake by one member, g. */
export function memberTakenG(ensemble: EnsembleMemory, member: number, bed: Bed): number {
  const cells = ensemble.cells[member] ?? []
  return waterInCellsG(cells, bed) - ensemble.residualKgKg * bed.scale * ensemble.massG
}

/** What is believed of the scale now, as a normal. */
export function scaleBelief(ensemble: EnsembleMemory): ScaleBelief {
  let mean = 0
  let square = 0
  for (let member = 0; member < ensemble.weights.length; member++) {
    const ln = ensemble.lnScale[Math.floor(member / ensemble.counts.length)] ?? 0
    const weight = ensemble.weights[member] ?? 0
    mean += weight * ln
    square += weight * ln * ln
  }
  return { mean, sd: Math.sqrt(Math.max(1e-4, square - mean * mean)) }
}

/** The belief with which the jar's next fill begins. */
export function nextBelief(belief: ScaleBelief): ScaleBelief {
  return { mean: belief.mean, sd: Math.min(SCALE_PRIOR.sd, belief.sd + NEXT_FILL_SD) }
}
