import { sigmaPct, stepPct } from '../trace/noise.ts'
import type { PumpBasis } from './outputs.ts'
import type { Sample } from '../rules/rule.ts'
import { type RunMemory, isNewValue } from '../trace/run.ts'
import { sprungFromS } from '../trace/sprung.ts'
import { leastStartPct, startPointPct } from '../trace/switching.ts'
import { endUnhooked, judgeCreeping, judgePassing, takeRestPoint, takeSpring } from '../trace/unhooked.ts'
import { wettestPct } from '../trace/gate-air.ts'
import { makeEligible } from '../trace/wet-gate.ts'
import type { Ambient } from './ambient.ts'
import type { Work } from './work.ts'

type Mark = Work['memory']['trail'][number]

/**
 * So long after a plateau, s, liquid water, oil and dead ends wet the air again within the hour once the pump rests, as open
 * hoses do; and nobody takes a rig off again before it has dried.
 */
const STILL_WET_S = 24 * 3600

function isStillWet({ gate }: Work['memory'], atS: number): boolean {
  return gate.isOpen || atS - Math.max(gate.wettedAtS ?? 0, gate.driedAtS ?? 0) < STILL_WET_S
}

/** Nobody takes a rig that was logged on off again before its pump has run: air that jumps then is the engine's own. */
function isOwnAir(memory: Work['memory'], atS: number): boolean {
  const { onAtS } = memory.log
  return (onAtS !== null && (memory.lastRunAtS ?? 0) < onAtS) || isStillWet(memory, atS)
}

/** A rig that was taken off comes back to an engine that may have flown. True if a reading at rest shows it just now. */
export function noticeUnhooking(work: Work, sample: Sample, ambient: Ambient): boolean {
  const { atS, humidityPct, densityGm3 } = sample
  if (humidityPct === null || densityGm3 === null) return false
  const { memory, settings } = work
  if (isOwnAir(memory, atS)) {
    endUnhooked(memory.unhooked)
    return false
  }
  const limitPct = settings.band.startPct + settings.switchTolPct
  const point = {
    atS,
    humidityPct,
    densityGm3,
    limitPct,
    sigmaPct: sigmaPct(memory.noise),
    wettestPct: Math.min(100, wettestPct(ambient.humidityPct, ambient.isMeasured)),
    restsSinceS: memory.pump.sinceS ?? atS,
    isTempMeasured: sample.tempC !== null,
  }
  const isSeen = takeRestPoint(memory.unhooked, point)
  if (isSeen) makeEligible(memory.gate, atS)
  return isSeen
}

/** A run begins with air that sprang from where no pump starts: the rig was taken off, whatever its outlet then did. */
export function noticeSpring(work: Work, sample: Sample, basis: PumpBasis): void {
  const { memory, settings } = work
  const { atS, place, humidityPct, densityGm3 } = sample
  if (isOwnAir(memory, atS)) return
  const isNewest = place === 'return' && humidityPct !== null && densityGm3 !== null
  const now: Mark[] = isNewest ? [[atS, humidityPct, densityGm3]] : []
  const { startPct } = settings.band
  const fromS = sprungFromS([...memory.trail, ...now], {
    startPct: Math.min(startPct, startPointPct(memory.switching, startPct)),
    leastStartPct: leastStartPct(memory.switching, startPct),
    sigmaPct: sigmaPct(memory.noise),
    stepPct: stepPct(memory.noise),
  })
  if (fromS !== null) takeSpring(memory.unhooked, fromS, basis === 'inferred')
}

/** The same where the pump's state is only inferred: the air passes the start limit from well below. */
export function noticePassing(work: Work): void {
  const { memory, settings } = work
  const limits = { startPct: settings.band.startPct, sigmaPct: sigmaPct(memory.noise) }
  judgePassing(memory.unhooked, memory.trail, limits)
}

/** The same while such a run lasts: air that creeps up for an hour is not moved by a pump. */
export function noticeCreeping(work: Work, run: RunMemory, sample: Sample): void {
  const { memory } = work
  const { startPct, startGm3 } = run
  if (sample.humidityPct === null || sample.densityGm3 === null) return
  judgeCreeping(memory.unhooked, {
    atS: sample.atS,
    humidityPct: sample.humidityPct,
    isNew: isNewValue(run, sample.humidityPct),
    densityGm3: sample.densityGm3,
    runFromS: run.fromS,
    fromPct: startPct,
    fromGm3: startGm3,
    sigmaPct: sigmaPct(memory.noise),
  })
}
