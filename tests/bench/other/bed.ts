/**
 * A column of beads with a finite rate: in every cell air loses water towards the balance of that cell's beads through
 * two resistances, the film of air round a bead and the way into it (linear driving force, Glueckauf 1955; surface
 * diffusion of Sakoda & Suzuki 1984, 2.54e-4 m2/s and 42 kJ/mol, from memory).
 */
import { type Gel, pressureOverGelPa } from './gel.ts'
import { densityGm3 } from './vapour.ts'

export type BedKind = {
  readonly gel: Gel
  readonly massG: number
  /** Loading over that of the published curve. */
  readonly scale: number
  readonly cells: number
  readonly radiusMm: number
  /** Share of the air that slips along the wall and meets no beads. */
  readonly bypass: number
}

/** Air that the film of 1 g of beads of 1 mm radius could clear, L/h: Sherwood number 2. */
const FILM_L_PER_H_G = 225

function insideRatePerH(radiusMm: number, tempC: number): number {
  const m2PerS = 2.54e-4 * Math.exp(-42_000 / (8.314 * (tempC + 273.15)))
  return (3600 * 15 * m2PerS) / (radiusMm / 1000) ** 2
}

/** Density over the beads of a cell, g/m3. */
export function balanceGm3(bed: BedKind, loading: number, tempC: number): number {
  return densityGm3(pressureOverGelPa(bed.gel, loading / bed.scale, tempC), tempC)
}

/** Lets air of `inGm3` through at `litresPerH` for `hours`. Changes the loadings; returns the density at the exit. */
export function passBed(
  bed: BedKind,
  loadings: number[],
  air: {
    readonly inGm3: number
    readonly litresPerH: number
    readonly hours: number
    readonly tempC: number
  },
): number {
  const m3PerH = air.litresPerH / 1000
  const cellG = bed.massG / loadings.length
  const throughM3 = m3PerH * air.hours * (1 - bed.bypass)
  const insidePerH = insideRatePerH(bed.radiusMm, air.tempC)
  const filmM3PerH = (FILM_L_PER_H_G / 1000 / bed.radiusMm ** 2) * cellG
  let gm3 = air.inGm3
  for (let i = 0; i < loadings.length; i++) {
    const loading = loadings[i] ?? 0
    const overGm3 = balanceGm3(bed, loading, air.tempC)
    const stepped = balanceGm3(bed, loading + 0.002 * bed.scale, air.tempC) - overGm3
    const insideM3PerH = (cellG * insidePerH * 0.002 * bed.scale) / Math.max(1e-9, stepped)
    const clearM3PerH = 1 / (1 / filmM3PerH + 1 / insideM3PerH)
    const leftGm3 = overGm3 + (gm3 - overGm3) * Math.exp(-clearM3PerH / m3PerH)
    // Drawn from the beads is at most what they hold.
    const gainG = Math.max(-0.5 * loading * cellG, (gm3 - leftGm3) * throughM3)
    loadings[i] = loading + gainG / cellG
    gm3 -= gainG / throughM3
  }
  return (1 - bed.bypass) * gm3 + bed.bypass * air.inGm3
}

/** Vapour that creeps along the column at rest, for `hours`: diffusion in the air between the beads. Changes the loadings. */
export function creepBed(bed: BedKind, loadings: number[], tempC: number, hours: number): void {
  const cellG = bed.massG / loadings.length
  // A column 5 cm wide: 20 cm2, a fifth of free diffusion (pores and detours); its cells are as long as their beads need.
  const lengthM = cellG / 1e6 / 0.7 / 0.002
  const m3PerH = (3600 * 0.2 * 2.5e-5 * 0.002) / lengthM
  for (let i = 1; i < loadings.length; i++) {
    const from = loadings[i - 1] ?? 0
    const to = loadings[i] ?? 0
    const fallGm3 = balanceGm3(bed, from, tempC) - balanceGm3(bed, to, tempC)
    const most = 0.2 * Math.abs(from - to) * cellG
    const g = Math.max(-most, Math.min(most, fallGm3 * m3PerH * hours))
    loadings[i - 1] = from - g / cellG
    loadings[i] = to + g / cellG
  }
}
