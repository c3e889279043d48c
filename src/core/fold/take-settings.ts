import { startFillRunTime } from '../trace/run-time.ts'
import { startSwitching } from '../trace/switching.ts'
import type { RigSettings } from './inputs.ts'
import { startLateLedger, takeFlowless } from './uncounted.ts'
import type { Work } from './work.ts'

/**
 * Runs between other marks take other times, and the outlet switches elsewhere: neither is compared across a change of the
 * band. A run that spans it is not timed; what was learned of the rig's pace of drying and of its ingress stays true.
 */
function changeBand({ memory }: Work, fromS: number): void {
  startFillRunTime(memory.runTime, fromS)
  memory.switching = startSwitching()
  if (memory.run !== null) memory.run.isOdd = true
}

/** Takes settings that hold from `fromS` (Unix s) on; older ones than those in force are ignored. */
export function takeSettings(work: Work, fromS: number, settings: RigSettings): void {
  const { memory } = work
  if (memory.settingsFromS !== null && fromS <= memory.settingsFromS) return
  const { band, flowLPerMin } = work.settings
  const { startPct, stopPct } = band
  if (flowLPerMin === null && memory.settingsFromS !== null) takeFlowless(work, memory.settingsFromS, fromS)
  if (flowLPerMin !== settings.flowLPerMin) memory.beads.forecastDay = 0
  memory.settingsFromS = fromS
  memory.settings = settings
  work.settings = settings
  work.isRigNew = true
  if (startPct !== settings.band.startPct || stopPct !== settings.band.stopPct) changeBand(work, fromS)
  startLateLedger(work, fromS)
}
