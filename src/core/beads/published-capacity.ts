import { bakeResidualKgKg } from './bake.ts'
import { bedCellCount, evenCells } from './bed.ts'
import { runUntilSpent } from './capacity.ts'
import { isothermOf, type Load } from './ensemble.ts'
import type { ArrivalAir } from './uptake.ts'

/**
 * What a column on the published curve takes up until its exit is as wet as `stopPct`, g, where the share `wetShare` of the
 * water, 0 to 1, comes in wet air and the rest in air of the band. Beads that meet wet air hold more: half as much again with
 * three quarters of it than with a quarter. Gram by gram, so that it says nothing of how large flights are.
 */
export function publishedCapacityG(
  { kind, massG, bakeTempC }: Load,
  {
    wetShare,
    air,
    stopPct,
    bedTempC,
  }: {
    readonly wetShare: number
    readonly air: Pick<ArrivalAir, 'wetPct' | 'dryPct'>
    readonly stopPct: number
    readonly bedTempC: number
  },
): number {
  const isotherm = isothermOf(kind)
  const count = bedCellCount(massG)
  const cells = evenCells(count, bakeResidualKgKg(isotherm.kind, bakeTempC))
  const { waterG } = runUntilSpent(
    cells,
    { isotherm, cellMassG: massG / count, scale: 1 },
    {
      flightsPerDay: 1,
      gPerFlight: wetShare,
      idleGPerDay: 1 - wetShare,
      flightPct: air.wetPct,
      idlePct: air.dryPct,
      bedTempC,
      stopPct,
    },
  )
  return waterG
}
