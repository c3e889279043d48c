import { type CameDown, followCameDown, startCameDown } from './came-down.ts'
import type { Moment, Sample } from './rule.ts'

/** Spread of the vapour density, as a share. The pump warms its box by up to 8 K, so RH itself is not steady. */
export const STEADY_SHARE = 0.08
const HANGAR_HIGH_PCT = 85
export const STEADY_SIGMAS = 6

/** Flow proven: the reading jumped while the pump was on, within half an hour, as it does when other air arrives. */
const JUMP_PCT = 5
const JUMP_SIGMAS = 5
const JUMP_WITHIN_S = 1800
const KEPT = 8

/** Air that arrived with a jump while the pump was on, and how steady it has stood since. */
export type SteadyAir = {
  /** The last readings before and during the run, for the jump, at most `KEPT`. */
  atS: number[]
  pct: number[]
  hasJumped: boolean
  /** Whether its air has come down by half since the last rest or jump; outlives a plateau of the run. */
  down: CameDown
  steadySinceS: number | null
  steadyLowGm3: number
  steadyHighGm3: number
}

export function startSteadyAir(): SteadyAir {
  return {
    atS: [],
    pct: [],
    hasJumped: false,
    down: startCameDown(),
    steadySinceS: null,
    steadyLowGm3: 0,
    steadyHighGm3: 0,
  }
}

/** A reading in its turn, with the pump on or at rest. */
export function remember(memory: SteadyAir, sample: Sample, humidityPct: number): void {
  memory.atS.push(sample.atS)
  memory.pct.push(humidityPct)
  while (memory.atS.length > KEPT || sample.atS - (memory.atS[0] ?? sample.atS) > JUMP_WITHIN_S) {
    memory.atS.shift()
    memory.pct.shift()
  }
}

/**
 * A surge that comes down by half was the air of a wet engine or box, and what it comes down to by drying is no air that
 * arrived: drops and films hold it at 0.1 to 0.5 of saturation for as long as they last, as steady as a hangar. Where a loop
 * comes open after that, its air jumps again. A hose that is off from the first, in a hangar of half the surge, looks the
 * same: no-drop waits for that as for any water.
 */
function followJump(memory: SteadyAir, moment: Moment, sample: Sample, humidityPct: number): void {
  const hadDropped = memory.down.hasDropped
  followCameDown(memory.down, sample, humidityPct)
  if (memory.down.hasDropped && !hadDropped) {
    memory.hasJumped = false
    memory.atS.length = 0
    memory.pct.length = 0
  }
  let lowPct = humidityPct
  memory.atS.forEach((atS, index) => {
    const pct = memory.pct[index] ?? humidityPct
    if (sample.atS - atS <= JUMP_WITHIN_S && pct < lowPct) lowPct = pct
  })
  if (humidityPct - lowPct < Math.max(JUMP_PCT, JUMP_SIGMAS * moment.sensor.sigmaPct)) return
  memory.hasJumped = true
  if (memory.down.hasDropped) memory.down = startCameDown()
}

/** A reading with the pump on. */
export function followSteady(memory: SteadyAir, moment: Moment, sample: Sample, humidityPct: number): void {
  const densityGm3 = sample.densityGm3 ?? humidityPct
  followJump(memory, moment, sample, humidityPct)
  if (
    !memory.hasJumped ||
    humidityPct < moment.settings.band.startPct + JUMP_PCT ||
    humidityPct > HANGAR_HIGH_PCT
  ) {
    memory.steadySinceS = null
    return
  }
  if (memory.steadySinceS !== null) {
    memory.steadyLowGm3 = Math.min(memory.steadyLowGm3, densityGm3)
    memory.steadyHighGm3 = Math.max(memory.steadyHighGm3, densityGm3)
  }
  const spread = Math.max(STEADY_SHARE, (STEADY_SIGMAS * moment.sensor.sigmaPct) / humidityPct)
  if (memory.steadySinceS === null || memory.steadyHighGm3 - memory.steadyLowGm3 > spread * densityGm3) {
    memory.steadySinceS = sample.atS
    memory.steadyLowGm3 = densityGm3
    memory.steadyHighGm3 = densityGm3
  }
}
