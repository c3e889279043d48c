import { readingErrorPct } from './drying.ts'
import type { NoDropMemory } from './no-drop-run.ts'
import type { Moment, Sample } from './rule.ts'

/** Of air at rest nothing is known that was read longer before the run than this, s. */
const REST_WITHIN_S = 1800
/**
 * A pump that starts changes the air of its box within two minutes, and a slow sensor shows it in ten. Where it moves nothing its heat
 * takes as long to show, and in a quarter of an hour makes 3 K at most: a fifth of RH, and nothing of vapour.
 */
const FELL_WITHIN_S = 900
const FELL_TO = 0.8
/** Two readings differ by noise and step, so many deviations. */
const FELL_SIGMAS = 5
const twoReadingsPct = (moment: Moment): number => Math.SQRT2 * readingErrorPct(moment)

/** Readings while the pump rests, as far as anybody has heard: behind a late report its air may have begun to fall. */
export function followRest(memory: NoDropMemory, { fresh }: Moment): void {
  for (const { place, atS, humidityPct: pct, tempC, densityGm3 } of fresh) {
    if (place !== 'return' || pct === null) continue
    const { restAir } = memory
    if (restAir !== null && pct < restAir.pct && atS - restAir.atS <= REST_WITHIN_S) continue
    memory.restAir = { atS, pct, gm3: tempC === null ? null : densityGm3 }
  }
}

/** Whether the air is drier than `share` of what the rest before the run ended with, in RH and in vapour. */
function isDrierThanRest({ restAir }: NoDropMemory, sample: Sample, share: number): boolean {
  if (restAir === null || sample.humidityPct === null || sample.humidityPct > share * restAir.pct)
    return false
  if (restAir.gm3 === null || sample.tempC === null || sample.densityGm3 === null) return true
  return sample.densityGm3 <= share * restAir.gm3
}

/** The air fell as the pump started: it moved it. */
export function noticeFall(memory: NoDropMemory, moment: Moment, sample: Sample): void {
  const { restAir } = memory
  const runFromS = memory.runFromS ?? sample.atS
  if (restAir === null || sample.atS - runFromS > FELL_WITHIN_S || runFromS - restAir.atS > REST_WITHIN_S)
    return
  const fellPct = restAir.pct - (sample.humidityPct ?? restAir.pct)
  if (fellPct < FELL_SIGMAS * twoReadingsPct(moment)) return
  if (!isDrierThanRest(memory, sample, FELL_TO)) return
  memory.hasMoved = true
  memory.wasDown = true
}

/** Air so many deviations below where the pump starts has not come back to it. */
const BELOW_SIGMAS = 2

/**
 * Air that was moved and is still below where this rig's rests end, in RH and in vapour, is held there by its pump: without it, it would
 * climb as in any rest. That it gets no drier is then the beads' doing, or a leak's. Of a run that nobody reports neither is known.
 */
export function isHeldDown(memory: NoDropMemory, moment: Moment, sample: Sample): boolean {
  const { humidityPct } = sample
  if (humidityPct === null || moment.pump.basis === 'inferred') return false
  if (!memory.hasMoved && !memory.down.hasDropped) return false
  const isBelow = humidityPct < moment.switchStartPct - BELOW_SIGMAS * twoReadingsPct(moment)
  return isBelow && isDrierThanRest(memory, sample, 1)
}
