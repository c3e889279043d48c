import { causesOf } from './causes.ts'
import { ledgerNow } from './ledger-now.ts'
import type { Inputs, LogEntry, Reading, RigSettings } from './inputs.ts'
import { cloneJson, GRID_S, type Memory } from './memory.ts'
import { startMoment } from './moment.ts'
import { stepGrid } from './step-grid.ts'
import { takeEntry } from './take-entry.ts'
import { takeReading } from './take-reading.ts'
import { takeSettings } from './take-settings.ts'
import type { Step, Work } from './work.ts'

export type { Step } from './work.ts'

/** The settings to begin with: those in memory, else the earliest given. */
function firstSettings(memory: Memory, inputs: Inputs): RigSettings {
  const settings = memory.settings ?? inputs.settings[0]?.settings
  if (settings === undefined) throw new RangeError('a rig without settings cannot be analysed')
  return settings
}

/**
 * The last work, never looked at again. V8 throws compiled code away with the last object of a shape that it was compiled
 * for: with nothing of one rig left over, the next rig's fold is compiled anew and takes a third longer (`bench:replay`).
 */
const kept: { last: Work | null } = { last: null }

/**
 * Advances the analysis of one rig over the grid times in (memory.gridS, untilS]. At each it takes all inputs up to
 * that time (settings before logbook before readings of the same instant), then judges. Pure: `memory` is not changed,
 * and the same inputs in one piece or in many give the same results. Inputs are sorted by time; those after the last
 * grid time are left alone and have to be given again. RangeError for a rig that has no settings at all.
 */
export function advance(memory: Memory, inputs: Inputs, untilS: number): Step {
  const work = startWork(memory, inputs)
  const own = work.memory
  const next = { reading: 0, entry: 0, settings: 0 }
  for (let gridS = own.gridS + GRID_S; gridS <= untilS; gridS += GRID_S) {
    work.gridS = gridS
    work.floorCheckPct = null
    // Emptied, not made anew: the rules read them within the step and keep none of it.
    if (work.fresh.length > 0) work.fresh.length = 0
    if (work.closed.length > 0) work.closed.length = 0
    if (work.ended.length > 0) work.ended.length = 0
    takeInputs(work, inputs, next, gridS)
    stepGrid(work)
    own.gridS = gridS
  }
  kept.last = work
  const { cycles, events, rollups, exposureDays, fills } = work
  return { memory: own, cycles, events, rollups, exposureDays, fills }
}

function startWork(memory: Memory, inputs: Inputs): Work {
  const own = cloneJson(memory)
  const settings = firstSettings(own, inputs)
  own.settings = settings
  const work: Work = {
    memory: own,
    settings,
    gridS: own.gridS,
    fresh: [],
    closed: [],
    ended: [],
    floorCheckPct: null,
    beds: null,
    moment: startMoment(settings),
    isRigNew: true,
    engineGm3: null,
    movedG: null,
    cycles: [],
    events: [],
    rollups: [],
    exposureDays: [],
    fills: [],
  }
  work.moment.causes = () => causesOf(work)
  work.moment.ledger = (run) => ledgerNow(work, run)
  return work
}

const NEVER_S = Number.POSITIVE_INFINITY

type Next = { reading: number; entry: number; settings: number }

/** Takes everything up to `gridS` in the order of its time. */
function takeInputs(work: Work, inputs: Inputs, next: Next, gridS: number): void {
  for (;;) {
    const reading: Reading | undefined = inputs.readings[next.reading]
    const entry: LogEntry | undefined = inputs.log[next.entry]
    const dated = inputs.settings[next.settings]
    const readingS = reading?.atS ?? NEVER_S
    const entryS = entry?.atS ?? NEVER_S
    const settingsS = dated?.fromS ?? NEVER_S
    if (dated !== undefined && settingsS <= gridS && settingsS <= entryS && settingsS <= readingS) {
      next.settings += 1
      takeSettings(work, settingsS, dated.settings)
    } else if (entry !== undefined && entryS <= gridS && entryS <= readingS) {
      next.entry += 1
      takeEntry(work, entry)
    } else if (reading !== undefined && readingS <= gridS) {
      next.reading += 1
      takeReading(work, reading)
    } else {
      return
    }
  }
}
