import { stepRules } from '../rules/alerts.ts'
import { gapMaxS } from '../trace/spacing.ts'
import { account, classOf, closeDays, isWetMetal } from './exposure.ts'
import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { hangarTempC } from './ambient.ts'
import { atMetalGm3, engineGm3, engineSensorC } from './engine-air.ts'
import { PLACES } from './inputs.ts'
import { isRigAway } from './log-memory.ts'
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
  const metalC = engineSensorC(work) ?? memory.metal.tempC
  const box = memory.places.return.latest
  const boxGm3 = box?.densityGm3 ?? null
  const densityGm3 = work.engineGm3 ?? (boxGm3 === null ? null : atMetalGm3(work, boxGm3, box?.tempC ?? null))
  if (metalC === null || densityGm3 === null) return
  const metalPct = Math.min(100, (100 * densityGm3) / heldSaturationGm3(metalC))
  account(memory.exposure, heardS, classOf(metalPct), isWetMetal(metalPct, metalC))
}

const isLongAgo = ({ memory, settings, gridS }: Work, heardS: number): boolean =>
  gridS - heardS > gapMaxS(memory.spacing, settings.reportEveryS)

function isSilent(work: Work): boolean {
  const { places, firstAtS } = work.memory
  return isLongAgo(work, places.return.latest?.atS ?? firstAtS)
}

/** The hangar's temperature has been heard lately. */
function isHangarHeard(work: Work): boolean {
  const { heardAtS, heldTempC } = work.memory.places.ambient
  return heardAtS !== null && heldTempC !== null && !isLongAgo(work, heardAtS)
}

/** Everything that happens at a grid time, after the inputs up to it were taken. */
export function stepGrid(work: Work): void {
  const { memory, gridS } = work
  if (!memory.inGap && isSilent(work)) startGap(work)
  // A hangar that is heard warms and cools the metal whether or not the rig is.
  if (!memory.inGap || isHangarHeard(work)) {
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
