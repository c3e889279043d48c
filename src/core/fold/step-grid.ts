import { stepRules } from '../rules/alerts.ts'
import { gapMaxS } from '../trace/spacing.ts'
import { account, classOf, closeDays, isWetMetal } from './exposure.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { hangarTempC } from './ambient.ts'
import { engineGm3 } from './engine-air.ts'
import { PLACES } from './inputs.ts'
import { isRigAway } from './log-memory.ts'
import type { Memory } from './memory.ts'
import { stepMetal } from './metal.ts'
import { momentOf } from './moment.ts'
import { closeRollups } from './rollup-memory.ts'
import { stepForecast } from './step-forecast.ts'
import { endChecks } from './step-log.ts'
import { startGap } from './take-reading.ts'
import type { Work } from './work.ts'

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
  const densityGm3 = work.engineGm3 ?? memory.places.return.latest?.densityGm3 ?? null
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
  work.engineGm3 = engineGm3(work, gridS)
  endChecks(work, gridS)
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
