import type { OpenAlert } from '../fold/outputs.ts'
import { isMaybeOff, returnPct } from './drying.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import {
  followStillDrying,
  forgetStillDrying,
  isStillDrying,
  startStillDrying,
  type StillDrying,
} from './still-drying.ts'
import { switchingTimeS } from './wet-and-idle.ts'

const SIGMAS = 3

/**
 * Where the floor lies between `stop` and the far limit, a stuck outlet never gets below the latter. This long below where
 * it has always switched, by 3 sigma on every reading, is no late poll either: the slowest outlet takes a quarter of an hour.
 */
const NEAR_FOR_S = 8 * 3600
/**
 * Past the far limit, but within three sigma of where the outlet has switched: every reading of three hours would have
 * stopped an outlet in order, since it acts on what it reports. One sigma below, noise alone does that with 1e-14. Hubs that
 * report on change pick their readings by their noise, and look three times noisier than they are.
 */
const PAST_FOR_S = 3 * 3600
const PAST_SIGMAS = 1
const CLEAN_READINGS = 2
const WETTER: Verdict = { kind: 'clear', evidence: { endedBy: 'wetter' } }

type StuckMemory = {
  farSinceS: number | null
  pastSinceS: number | null
  nearSinceS: number | null
  clean: number
  /** What the air tells where nobody reports the pump. */
  air: StillDrying
}

const start = (): StuckMemory => ({
  farSinceS: null,
  pastSinceS: null,
  nearSinceS: null,
  clean: 0,
  air: startStillDrying(),
})

function forget(memory: StuckMemory): void {
  memory.farSinceS = null
  memory.pastSinceS = null
  memory.nearSinceS = null
  memory.clean = 0
  forgetStillDrying(memory.air)
}

const NO_PUMP: Verdict = {
  kind: 'unknown',
  why: 'neither the pump nor its power is reported, so a pump that runs on shows only where the air gets far drier than the band',
}

/**
 * Below the far limit the outlet has missed its switch; below the near one it is past where it has switched so far. Above
 * `stop` it has nothing to switch for, wherever it was seen to.
 */
function limitsOf(moment: Moment): {
  readonly farPct: number
  readonly pastPct: number
  readonly nearPct: number
} {
  const { band, switchTolPct } = moment.settings
  const { sigmaPct } = moment.sensor
  const nearPct = Math.min(band.stopPct, moment.switchStopPct - SIGMAS * sigmaPct)
  const missedPct = band.stopPct - switchTolPct
  return {
    farPct: Math.min(missedPct, nearPct),
    pastPct: Math.min(missedPct, moment.switchStopPct - PAST_SIGMAS * sigmaPct),
    nearPct,
  }
}

function follow(memory: StuckMemory, moment: Moment): void {
  const { farPct, pastPct, nearPct } = limitsOf(moment)
  const isOn = moment.pump.state === 'run'
  for (const sample of moment.fresh) {
    const humidityPct = returnPct(sample)
    if (humidityPct === null) continue
    memory.farSinceS = isOn && humidityPct < farPct ? (memory.farSinceS ?? sample.atS) : null
    memory.pastSinceS = isOn && humidityPct < pastPct ? (memory.pastSinceS ?? sample.atS) : null
    memory.nearSinceS = isOn && humidityPct < nearPct ? (memory.nearSinceS ?? sample.atS) : null
    memory.clean = !isOn || humidityPct > moment.settings.band.stopPct ? memory.clean + 1 : 0
  }
}

/** Where only the air tells: it goes on drying, or stays as dry as no box at rest does. */
function stepByAir(memory: StuckMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.unhookedAtS !== null || isMaybeOff(moment)) forget(memory)
  else followStillDrying(memory.air, moment)
  for (const sample of moment.fresh) {
    const humidityPct = returnPct(sample)
    if (humidityPct === null) continue
    memory.clean = humidityPct > moment.settings.band.stopPct ? memory.clean + 1 : 0
  }
  if (open !== null) {
    // What a stuck outlet did is no measure of one in order.
    memory.air.lowestPct = null
    return memory.clean >= CLEAN_READINGS ? WETTER : SAME
  }
  if (moment.pump.state === 'run' || !isStillDrying(memory.air, moment)) return NO_PUMP
  return {
    kind: 'holds',
    urgency: 'visit',
    sinceS: memory.air.belowS ?? moment.atS,
    evidence: {
      nowPct: moment.latest.return?.humidityPct ?? null,
      nowAtS: moment.latest.return?.atS ?? null,
      stopPct: moment.settings.band.stopPct,
      limitPct: moment.settings.band.stopPct,
      pumpBasis: moment.pump.basis,
      runFromS: null,
    },
  }
}

function step(memory: StuckMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.fresh.length === 0) return SAME
  if (moment.pump.state === 'unknown' || moment.isFloorCheck || moment.isLoopTest) {
    forget(memory)
    return SAME
  }
  if (moment.pump.basis === 'inferred') return stepByAir(memory, moment, open)
  follow(memory, moment)
  if (open !== null && memory.clean >= CLEAN_READINGS) {
    return { kind: 'clear', evidence: { endedBy: moment.pump.state === 'run' ? 'wetter' : 'pump rests' } }
  }
  const isFar = memory.farSinceS !== null && moment.atS - memory.farSinceS >= switchingTimeS(moment)
  const isNear = memory.nearSinceS !== null && moment.atS - memory.nearSinceS >= NEAR_FOR_S
  const pastForS = Math.max(PAST_FOR_S, switchingTimeS(moment))
  const isPast = memory.pastSinceS !== null && moment.atS - memory.pastSinceS >= pastForS
  if (!isFar && !isPast && !isNear) return open === null ? CLEAR : SAME
  if (open !== null) return SAME
  const limits = limitsOf(moment)
  return {
    kind: 'holds',
    urgency: 'visit',
    sinceS: memory.nearSinceS ?? memory.farSinceS ?? memory.pastSinceS ?? moment.atS,
    evidence: {
      nowPct: moment.latest.return?.humidityPct ?? null,
      nowAtS: moment.latest.return?.atS ?? null,
      stopPct: moment.settings.band.stopPct,
      limitPct: isFar ? limits.farPct : isPast ? limits.pastPct : limits.nearPct,
      pumpBasis: moment.pump.basis,
      runFromS: moment.pump.sinceS,
    },
  }
}

/**
 * The air is drier than the band and the pump runs on: outlet stuck, or the hub's rule. Needs the pump's state or its
 * power, else hours of air far below the band; silent during a floor check. Over when the pump rests or the air is above `stop`.
 */
export const stuckRunning: Rule<StuckMemory> = { name: 'stuck-running', start, step, pause: forget }
