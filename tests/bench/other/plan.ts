import type { RigPlan } from '../../../src/core/rig/plan.ts'
import { CLIMATES } from '../../../src/core/rig/weather.ts'
import { variedPlan } from '../rig-varieties.ts'
import { kindOf } from './kind.ts'
import { saturationPa } from './vapour.ts'

/** Seeds of the first simulator's rigs are far from these. */
const SEED_SHIFT = 600_000

/**
 * A rig of the second simulator: sizes, bands, hubs and flights within the same ranges as the first's, everything else
 * of its own kind (`kindOf`). What only the first simulator reads is left as it came.
 */
export function makePlan(seed: number, startS: number, days: number): RigPlan {
  const base = variedPlan(seed + SEED_SHIFT, startS, days)
  const { place } = kindOf(base.seed)
  const meanPct = Math.round(
    (100 * saturationPa(place.meanC - place.depressionK)) / saturationPa(place.meanC),
  )
  return {
    ...base,
    // Owners say what they have heard of their climate.
    climate: { ...CLIMATES.temperate, meanC: place.meanC, humidityPct: Math.round(meanPct / 5) * 5 },
  }
}
