import { sigmaPct } from '../trace/noise.ts'
import { judgePassing, takeRestPoint } from '../trace/unhooked.ts'
import { makeEligible } from '../trace/wet-gate.ts'
import type { Work } from './work.ts'

/** A rig that was taken off comes back to an engine that may have flown. True if a reading at rest shows it just now. */
export function noticeUnhooking(work: Work, atS: number, humidityPct: number, densityGm3: number): boolean {
  const { memory, settings } = work
  const limitPct = settings.band.startPct + settings.switchTolPct
  const point = { atS, humidityPct, densityGm3, limitPct, sigmaPct: sigmaPct(memory.noise) }
  const isSeen = takeRestPoint(memory.unhooked, point)
  if (isSeen) makeEligible(memory.gate, atS)
  return isSeen
}

/** The same where the pump's state is only inferred: the air passes the start limit from well below. */
export function noticePassing(work: Work, atS: number): void {
  const { memory, settings } = work
  const limits = { startPct: settings.band.startPct, sigmaPct: sigmaPct(memory.noise) }
  if (judgePassing(memory.unhooked, memory.trail, limits)) makeEligible(memory.gate, atS)
}
