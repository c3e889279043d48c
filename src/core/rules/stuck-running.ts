import type { OpenAlert } from '../fold/outputs.ts'
import { returnPct } from './drying.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { switchingTimeS } from './wet-and-idle.ts'

const SIGMAS = 3

/**
 * Where the floor lies between `stop` and the far limit, a stuck outlet never gets below the latter. This long below where
 * it has always switched, by 3 sigma on every reading, is no late poll either: the slowest outlet takes a quarter of an hour.
 */
const NEAR_FOR_S = 8 * 3600
const CLEAN_READINGS = 2

type StuckMemory = { farSinceS: number | null; nearSinceS: number | null; clean: number }

const start = (): StuckMemory => ({ farSinceS: null, nearSinceS: null, clean: 0 })

function forget(memory: StuckMemory): void {
  memory.farSinceS = null
  memory.nearSinceS = null
  memory.clean = 0
}

const NO_PUMP: Verdict = {
  kind: 'unknown',
  why: 'neither the pump nor its power is reported, so a pump that runs on cannot be seen',
}

/** Below the far limit the outlet has missed its switch; below the near one it is past where it has switched so far. */
function limitsOf(moment: Moment): { readonly farPct: number; readonly nearPct: number } {
  const { band, switchTolPct } = moment.settings
  const nearPct = moment.switchStopPct - SIGMAS * moment.sensor.sigmaPct
  return { farPct: Math.min(band.stopPct - switchTolPct, nearPct), nearPct }
}

function follow(memory: StuckMemory, moment: Moment): void {
  const { farPct, nearPct } = limitsOf(moment)
  const isOn = moment.pump.state === 'run'
  for (const sample of moment.fresh) {
    const humidityPct = returnPct(sample)
    if (humidityPct === null) continue
    memory.farSinceS = isOn && humidityPct < farPct ? (memory.farSinceS ?? sample.atS) : null
    memory.nearSinceS = isOn && humidityPct < nearPct ? (memory.nearSinceS ?? sample.atS) : null
    memory.clean = !isOn || humidityPct > moment.settings.band.stopPct ? memory.clean + 1 : 0
  }
}

function step(memory: StuckMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.fresh.length === 0) return SAME
  if (moment.pump.basis === 'inferred') return NO_PUMP
  if (moment.pump.state === 'unknown' || moment.isFloorCheck || moment.isLoopTest) {
    forget(memory)
    return SAME
  }
  follow(memory, moment)
  if (open !== null && memory.clean >= CLEAN_READINGS) {
    return { kind: 'clear', evidence: { endedBy: moment.pump.state === 'run' ? 'wetter' : 'pump rests' } }
  }
  const isFar = memory.farSinceS !== null && moment.atS - memory.farSinceS >= switchingTimeS(moment)
  const isNear = memory.nearSinceS !== null && moment.atS - memory.nearSinceS >= NEAR_FOR_S
  if (!isFar && !isNear) return open === null ? CLEAR : SAME
  if (open !== null) return SAME
  return {
    kind: 'holds',
    urgency: 'visit',
    sinceS: memory.nearSinceS ?? memory.farSinceS ?? moment.atS,
    evidence: {
      nowPct: moment.latest.return?.humidityPct ?? null,
      nowAtS: moment.latest.return?.atS ?? null,
      stopPct: moment.settings.band.stopPct,
      limitPct: isFar ? limitsOf(moment).farPct : limitsOf(moment).nearPct,
      pumpBasis: moment.pump.basis,
      runFromS: moment.pump.sinceS,
    },
  }
}

/**
 * The air is drier than the band and the pump runs on: outlet stuck, or the hub's rule. Needs the pump's state or its
 * power; silent during a floor check. Over when the pump rests or the air is above `stop`.
 */
export const stuckRunning: Rule<StuckMemory> = { name: 'stuck-running', start, step, pause: forget }
