import { stepRules } from '../rules/alerts.ts'
import { gapMaxS } from '../trace/spacing.ts'
import { account, classOf, closeDays, isWetMetal } from './exposure.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { referencePerH } from '../trace/ingress.ts'
import { ambientAt, hangarTempC } from './ambient.ts'
import { PLACES } from './inputs.ts'
import { isRigAway } from './log-memory.ts'
import type { Memory } from './memory.ts'
import { stepMetal } from './metal.ts'
import { momentOf } from './moment.ts'
import { closeRollups } from './rollup-memory.ts'
import { stepForecast } from './step-forecast.ts'
import { stepLog } from './step-log.ts'
import { startGap } from './take-reading.ts'
import type { Work } from './work.ts'

/** Air from the engine stands for it this long without any ingress known, s. */
const AIR_HELD_S = 3600
/** Typical ingress where the rig's own is not learned, 1/h: a sealed engine with a dipstick and plugs. */
const USUAL_INGRESS_PER_H = 0.05

/**
 * Vapour density in the engine now, g/m3: as sampled while the air moved, else from there on with the rig's ingress;
 * the engine's own sensor where there is one. `null` if nothing is known.
 */
export function engineGm3(work: Work, atS: number): number | null {
  const { memory, settings } = work
  const own = memory.places.engine.latest
  if (own !== null && own.densityGm3 !== null && atS - own.atS <= AIR_HELD_S) return own.densityGm3
  const back = memory.places.return.latest
  if (settings.sensorSits === 'engine' && back !== null && back.densityGm3 !== null) return back.densityGm3
  const air = memory.engineAir
  if (air === null) return back?.densityGm3 ?? null
  const hours = (atS - air.atS) / 3600
  // While the pump runs the air is the sampled one.
  if (hours <= 0) return air.densityGm3
  const perH = referencePerH(memory.ingress, null) ?? USUAL_INGRESS_PER_H
  const ambientGm3 = ambientAt(memory, settings, atS).densityGm3
  return ambientGm3 - (ambientGm3 - air.densityGm3) * Math.exp(-Math.max(0, perH) * hours)
}

function accountExposure(work: Work, atS: number): void {
  const { memory } = work
  const heardS = memory.places.return.latest?.atS ?? null
  if (isRigAway(memory.log, atS)) {
    account(memory.exposure, atS, 'off', false)
    return
  }
  if (memory.inGap || heardS === null) {
    account(memory.exposure, atS, 'gap', false)
    return
  }
  const metalC = memory.metal.tempC
  const densityGm3 = engineGm3(work, heardS)
  if (metalC === null || densityGm3 === null) return
  const metalPct = Math.min(100, (100 * densityGm3) / heldSaturationGm3(metalC))
  account(memory.exposure, heardS, classOf(metalPct), isWetMetal(metalPct, metalC))
}

function isSilent(memory: Memory, work: Work, atS: number): boolean {
  const heardS = memory.places.return.latest?.atS ?? memory.firstAtS
  return atS - heardS > gapMaxS(memory.spacing, work.settings.reportEveryS)
}

/** Everything that happens at a grid time, after the inputs up to it were taken. */
export function stepGrid(work: Work): void {
  const { memory, gridS } = work
  if (!memory.inGap && isSilent(memory, work, gridS)) startGap(work)
  if (!memory.inGap) {
    const hangar = hangarTempC(memory, work.settings, gridS)
    stepMetal(memory.metal, hangar.tempC, gridS)
  }
  stepLog(work)
  stepForecast(work)
  accountExposure(work, gridS)
  closeDays(memory.exposure, work.exposureDays)
  // Every bucket ends on the hour.
  if (gridS % 3600 === 0) {
    for (const place of PLACES) closeRollups(memory.rollups[place], place, gridS, work.rollups)
  }
  const step = stepRules(memory.rules, momentOf(work))
  for (const event of step.events) work.events.push(event)
}
