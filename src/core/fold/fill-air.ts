import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { type Bed, PARCEL_MAX_L } from '../beads/bed.ts'
import { bedsOf, type EnsembleMemory, pushEnsemble } from '../beads/ensemble.ts'
import { isWetAir, takeUptake } from '../beads/uptake.ts'
import type { FillMemory } from './fill-memory.ts'
import type { Work } from './work.ts'

/** The columns of the ensemble, made once per call of the fold. */
export function bedsNow(work: Work, ensemble: EnsembleMemory): readonly Bed[] {
  work.beds ??= bedsOf(ensemble)
  return work.beds
}

function pushPending(work: Work, fill: FillMemory): void {
  const { ensemble } = fill
  if (ensemble === null || fill.pendingL <= 0) return
  const inGm3 = fill.pendingSum / fill.pendingL
  const volumeL = fill.pendingL
  const exitGm3 = pushEnsemble(ensemble, bedsNow(work, ensemble), {
    inGm3,
    volumeL,
    tempC: fill.pendingTempC,
  })
  fill.exitGm3 = exitGm3
  fill.pendingL = 0
  fill.pendingSum = 0
  const grams = ((inGm3 - exitGm3) * volumeL) / 1000
  const inPct = (100 * inGm3) / heldSaturationGm3(fill.pendingTempC)
  if (isWetAir(inPct)) fill.wetG += Math.max(0, grams)
  if (takeUptake(work.memory.beads.uptake, grams, inPct)) fill.flightG += grams
  else fill.idleG += grams
}

/** Air that went through the beads: litres at a vapour density, g/m3. In parcels of at most 20 L. */
export function takeAir(
  work: Work,
  air: { readonly volumeL: number; readonly inGm3: number; readonly tempC: number },
): void {
  const { fill, flowLn } = work.memory.beads
  if (fill === null || fill.ensemble === null) return
  let leftL = air.volumeL * Math.exp(flowLn.mean)
  fill.saturatedG += (leftL / 1000) * heldSaturationGm3(air.tempC)
  if (fill.pendingL > 0 && fill.pendingL + leftL > PARCEL_MAX_L) pushPending(work, fill)
  fill.pendingTempC = air.tempC
  while (leftL > 0) {
    const partL = Math.min(leftL, PARCEL_MAX_L)
    fill.pendingL += partL
    fill.pendingSum += partL * air.inGm3
    leftL -= partL
    if (leftL > 0 || fill.pendingL >= PARCEL_MAX_L) pushPending(work, fill)
  }
}

/** A run ended: what is pending is pushed, so that no air waits for weeks. */
export function flushAir(work: Work): void {
  const { fill } = work.memory.beads
  if (fill !== null) pushPending(work, fill)
}
