import { type Pace, wetShareOf } from '../beads/forecast.ts'
import { publishedCapacityG } from '../beads/published-capacity.ts'
import { loadOf, takenG } from './fill.ts'
import type { FillMemory } from './fill-memory.ts'
import type { Work } from './work.ts'

type Column = Pick<FillMemory, 'kind' | 'massG' | 'bakeTempC' | 'wetG' | 'ensemble'>

/**
 * What the published curve makes of a fill, g: of its load, and of the air that its water came in and that of `toComeG` more will
 * come in at this pace. 0 without a mass.
 */
export function publishedG(fill: Column, pace: Pace, toComeG: number): number {
  const load = loadOf(fill)
  if (load === null) return 0
  const soFarG = Math.max(0, takenG(fill))
  const wetShare =
    (Math.min(fill.wetG, soFarG) + toComeG * wetShareOf(pace)) / Math.max(1e-6, soFarG + toComeG)
  const { air, stopPct, bedTempC } = pace
  return publishedCapacityG(load, { wetShare, air, stopPct, bedTempC })
}

/** A fresh fill has no forecast yet: all its water is to come, g. */
const ALL_TO_COME_G = 1

/** What the column is believed to hold by the jar's earlier fills, in grams of this ledger; `null` if none was used up. */
export function heldG(work: Work, fill: FillMemory, pace: Pace): number | null {
  if (fill.holds === null) return null
  const wholeG = fill.forecast?.capacityG?.mid ?? ALL_TO_COME_G
  const toComeG = Math.max(0, wholeG - takenG(fill))
  return Math.exp(fill.holds.mean + work.memory.beads.flowLn.mean) * publishedG(fill, pace, toComeG)
}
