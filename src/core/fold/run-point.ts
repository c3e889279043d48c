import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { Sample } from '../rules/rule.ts'
import { sigmaPct, stepPct } from '../trace/noise.ts'
import type { RunPoint } from '../trace/run.ts'
import { stoodInTempC } from './ambient.ts'
import type { Work } from './work.ts'

const SATURATION_15 = heldSaturationGm3(15)

/** A return reading as a run takes it; `null` without a humidity. */
export function runPoint(work: Work, sample: Sample): RunPoint | null {
  const { memory, settings } = work
  const { humidityPct, densityGm3 } = sample
  if (humidityPct === null || densityGm3 === null) return null
  const tempC = sample.tempC ?? stoodInTempC(memory, settings, sample.atS)
  return {
    atS: sample.atS,
    humidityPct,
    densityGm3,
    tempC,
    scale: sample.tempC === null ? 1 : heldSaturationGm3(tempC) / SATURATION_15,
    tolerancePct: 2 * sigmaPct(memory.noise) + stepPct(memory.noise),
  }
}
