import { humidityPctOfDensity } from '../air/vapour.ts'
import type { OpenAlert } from '../fold/outputs.ts'
import { followCameDown, startCameDown } from './came-down.ts'
import { floorHighPct, isAfterFlight, isFlightDay, isMaybeOff, isMaybeTakenOff } from './drying.ts'
import { leastPerH } from './drying-drop.ts'
import { POWER_LOW } from './pump-power.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import {
  followSteady,
  remember,
  type SteadyAir,
  startSteadyAir,
  STEADY_SHARE,
  STEADY_SIGMAS,
} from './steady-air.ts'

const HOUR_S = 3600

/** Within this of the hangar's air, % RH: two cheap sensors side by side, 4 % each, and a box a little warmer. */
const NEAR_PCT = 10
/** Half an hour: a surge of dry-stored engine air passes in minutes, and it takes three readings. */
const NEAR_FOR_S = 1800
const NEAR_READINGS = 3
/**
 * In the days after a flight a wet engine's air is as damp as many a hangar's: the wet gate, which may need half an hour and
 * a metal that has been heard of for as long, has to have had its say, s.
 */
const NEAR_AFTER_FLIGHT_S = 1.5 * HOUR_S
/**
 * On the day of a flight the box has stood open in the hangar, so that nothing leaps at the hook-up and no gate opens; and for as long as
 * drops evaporate the engine's air keeps its density while the pump warms the box. It comes down within hours, s.
 */
const FLIGHT_DAY_WAIT_S = 6 * HOUR_S
/** Air that dries passes the hangar's humidity on its way down; an open loop stays beside it. A share of the hangar's. */
const FALL_SHARE = 0.07
/**
 * Where the pump's state is only inferred, a rig that was taken off reads the hangar's air too; an hour shows by the shape
 * of the rise which it is (see `judgeCreeping`).
 */
const INFERRED_AFTER_S = 4500

/**
 * Where the hangar's air is not measured, or is too near the band to tell: it arrives with a jump and is steady. A closed
 * loop that moves air is not: for so long at least, and until the slowest pump this rig can have would have taken the air
 * down by twice the steadiness, it comes down. A wet engine's plateau is accounted for by the wet gate.
 */
const STEADY_FOR_S = 1.5 * HOUR_S
/** A closed loop has to come down by so many times the steadiness in the time that is waited. */
const STEADY_TIMES = 2
/** Nothing is waited for longer than this: then the air is too near the floor to tell, s. */
const STEADY_MAX_S = 12 * HOUR_S
/** Air of an engine that was wet in this run dries from the last few places for this long, s. */
const DRYING_S = 3 * HOUR_S
/** Closed again: down to this share of what the open loop read, on two readings with the pump on. */
const CLOSED_SHARE = 0.6
const CLEAN_READINGS = 2

type OpenLoopMemory = SteadyAir & {
  nearSinceS: number | null
  nearReadings: number
  /** Highest share of the hangar's air in this stretch. */
  nearTop: number
  clean: number
}

function start(): OpenLoopMemory {
  return { nearSinceS: null, nearReadings: 0, nearTop: 0, ...startSteadyAir(), clean: 0 }
}

function forget(memory: OpenLoopMemory): void {
  memory.nearSinceS = null
  memory.nearReadings = 0
  memory.hasJumped = false
  memory.steadySinceS = null
  memory.clean = 0
}

/** Hangar air as it would read at the return sensor's temperature, % RH; `null` without an ambient sensor. */
function hangarPct(moment: Moment, sample: Sample): number | null {
  if (!moment.isAmbientMeasured || moment.ambientPct === null) return null
  if (moment.ambientGm3 === null || sample.tempC === null) return moment.ambientPct
  return humidityPctOfDensity(moment.ambientGm3, sample.tempC)
}

/** Compared with the hangar's air, where that is clearly wetter than the band: in a desert both are dry. */
function compare(
  memory: OpenLoopMemory,
  moment: Moment,
  sample: Sample,
  humidityPct: number,
  hangar: number,
): void {
  const isTelling = hangar > moment.settings.band.startPct + 2 * NEAR_PCT
  if (!isTelling || Math.abs(humidityPct - hangar) > NEAR_PCT) {
    memory.nearSinceS = null
    memory.nearReadings = 0
    return
  }
  const share = humidityPct / hangar
  const fall = Math.max(FALL_SHARE, (STEADY_SIGMAS * moment.sensor.sigmaPct) / hangar)
  if (memory.nearSinceS === null || share < memory.nearTop - fall) {
    memory.nearSinceS = sample.atS
    memory.nearReadings = 0
    memory.nearTop = share
  }
  memory.nearTop = Math.max(memory.nearTop, share)
  memory.nearReadings += 1
}

function follow(memory: OpenLoopMemory, moment: Moment, open: OpenAlert | null): void {
  const raisedPct = open?.evidence['nowPct']
  const closedPct = typeof raisedPct === 'number' ? CLOSED_SHARE * raisedPct : moment.settings.band.startPct
  for (const sample of moment.fresh) {
    if (sample.place !== 'return' || sample.humidityPct === null) continue
    const humidityPct = sample.humidityPct
    if (moment.pump.state === 'run') {
      const hangar = hangarPct(moment, sample)
      followSteady(memory, moment, sample, humidityPct)
      if (hangar !== null) compare(memory, moment, sample, humidityPct, hangar)
      memory.clean = humidityPct <= closedPct ? memory.clean + 1 : 0
    } else {
      // The surge of a hook-up may be over before the pump is reported: the last air at rest is what a run comes down from.
      memory.down = startCameDown()
      followCameDown(memory.down, sample, humidityPct)
    }
    remember(memory, sample, humidityPct)
  }
}

/** Water the beads can still take up, g: from the ledger, else a fifth of their mass (damp air, see the isotherms). */
function roomOf({ forecast, settings }: Moment): number | null {
  const capacityG = forecast?.capacityG ?? null
  const takenUpG = forecast?.takenUpG ?? null
  if (capacityG !== null && takenUpG !== null) return Math.max(0, capacityG.mid - takenUpG.mid)
  return settings.beadMassG === null ? null : 0.2 * settings.beadMassG
}

/** What the open loop costs: the beads dry the hangar at the flow times what its air holds. */
function holds(moment: Moment, sinceS: number, by: 'ambient' | 'steady'): Verdict {
  const { flowLPerMin } = moment.settings
  const latest = moment.latest.return
  const densityGm3 = latest?.densityGm3 ?? null
  const gPerH = flowLPerMin === null || densityGm3 === null ? null : (flowLPerMin * 60 * densityGm3) / 1000
  const roomG = roomOf(moment)
  return {
    kind: 'holds',
    urgency: 'now',
    sinceS,
    evidence: {
      by,
      nowPct: latest?.humidityPct ?? null,
      nowAtS: latest?.atS ?? null,
      ambientPct: by === 'ambient' ? moment.ambientPct : null,
      gPerH,
      daysUntilFull: gPerH === null || gPerH <= 0 || roomG === null ? null : roomG / gPerH / 24,
      runFromS: moment.pump.sinceS,
    },
  }
}

/**
 * How long even the slowest closed loop would need to come down by twice the steadiness on its way to the floor, s; infinite
 * where the air is so near the floor that it never does.
 */
function timeToShowS(moment: Moment): number {
  const pct = moment.latest.return?.humidityPct ?? 0
  const floorPct = Math.min(floorHighPct(moment), moment.switchStopPct)
  const share = (STEADY_TIMES * STEADY_SHARE * pct) / Math.max(1e-6, pct - floorPct)
  const seconds = share >= 1 ? Infinity : (-Math.log(1 - share) / leastPerH(moment)) * HOUR_S
  return seconds > STEADY_MAX_S ? Infinity : seconds
}

/**
 * A plateau that was given up is told as air that gets no drier: that it reads like the hangar too is no second fault. Nor where
 * a meter tells that the pump draws nothing: it moves no air, whatever that reads like.
 */
function isTold({ wetGate, latest, pumpPowerW }: Moment, others: readonly OpenAlert[]): boolean {
  const powerW = latest.return?.powerW ?? null
  if (powerW !== null && pumpPowerW !== null && powerW < POWER_LOW * pumpPowerW) return true
  const told = others.find(({ rule }) => rule === 'no-drop')
  return told !== undefined && (wetGate.isTimedOut === true || told.evidence['by'] === 'power')
}

/** Of a stated or usual climate a hangar's air is drier by more than this share once in forty. */
const CLIMATE_LOW_SHARE = 0.4
const USUAL_PCT = 60

/** On the day of a flight steady air is the engine's own more often than not: what is drier than the hangar can be is no hangar's. */
function isDrierThanClimate(moment: Moment): boolean {
  const { isAmbientMeasured, ambientPct, latest } = moment
  if (!isFlightDay(moment) || isAmbientMeasured) return false
  return (latest.return?.humidityPct ?? 0) < (1 - CLIMATE_LOW_SHARE) * (ambientPct ?? USUAL_PCT)
}

/** How long air has to read like the hangar's, or stand, s: each way has its own time for air that neither dries nor is wet. */
function waitS(moment: Moment, otherwiseS: number, isDrying: boolean, closedShowsS: number): number {
  if (isFlightDay(moment)) return Math.max(FLIGHT_DAY_WAIT_S, closedShowsS)
  return isDrying ? Math.max(DRYING_S, closedShowsS) : otherwiseS
}

function step(
  memory: OpenLoopMemory,
  moment: Moment,
  open: OpenAlert | null,
  others: readonly OpenAlert[],
): Verdict {
  const isOther =
    moment.pump.state !== 'run' ||
    moment.wetGate.isOpen ||
    moment.isLoopTest ||
    moment.unhookedAtS !== null ||
    isMaybeOff(moment)
  if (isOther) forget(memory)
  follow(memory, moment, open)
  if (isOther) return SAME
  if (open !== null) {
    if (memory.clean >= CLEAN_READINGS) return { kind: 'clear', evidence: { endedBy: 'drop' } }
    // What it costs by now is for who looks: no need to count it at every grid time.
    const by = open.evidence['by'] === 'ambient' ? 'ambient' : 'steady'
    return moment.atS % HOUR_S === 0 ? holds(moment, open.sinceS, by) : SAME
  }
  if (isTold(moment, others) || isMaybeTakenOff(moment)) return SAME
  const { nearSinceS, steadySinceS } = memory
  const sinceS = moment.pump.sinceS ?? moment.atS
  if (moment.pump.basis === 'inferred' && moment.atS - sinceS < INFERRED_AFTER_S) return SAME
  const closedShowsS = timeToShowS(moment)
  // A wet engine that has just dried is still on its way down: a closed loop must have had time to show it.
  const isDrying = memory.down.hasDropped || (moment.wettedAtS !== null && moment.wettedAtS >= sinceS)
  const settledS = isAfterFlight(moment) ? NEAR_AFTER_FLIGHT_S : NEAR_FOR_S
  const nearForS = waitS(moment, settledS, isDrying, closedShowsS)
  if (nearSinceS !== null && memory.nearReadings >= NEAR_READINGS && moment.atS - nearSinceS >= nearForS) {
    return holds(moment, nearSinceS, 'ambient')
  }
  const steadyForS = waitS(moment, Math.max(STEADY_FOR_S, closedShowsS), isDrying, closedShowsS)
  if (steadySinceS !== null && moment.atS - steadySinceS >= steadyForS && !isDrierThanClimate(moment))
    return holds(moment, steadySinceS, 'steady')
  return CLEAR
}

/**
 * The pump moves hangar air: a hose or cap is off on the suction side, and the beads dry the hangar. Needs a run and the
 * return humidity; an ambient sensor tells in half an hour, else it takes two, and on the day of a flight six. Over when the air comes down
 * again.
 */
export const openLoop: Rule<OpenLoopMemory> = { name: 'open-loop', start, step, pause: forget }
