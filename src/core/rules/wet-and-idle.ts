import type { OpenAlert } from '../fold/outputs.ts'
import { FLIGHT_MIN, returnPct } from './drying.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { consequent } from './urgency.ts'

/**
 * The least that an outlet may be late: half an hour, three readings, and twice as long as the pump's state takes to be
 * reported.
 */
const FOR_MIN_S = 1800
const SPACINGS = 3
const LAGS = 2
/**
 * The limit lies a standard deviation above where this outlet switches: noise alone holds the readings of three hours
 * there with 1e-14, and three readings with 0.004, of which any would have started an outlet in order, since it acts on
 * what it reports. More would blind the rule to hubs that report on change: their readings are picked by their noise.
 */
const SIGMAS = 1
/** What ends it: two readings in a row in a run, so that one odd one does not. */
const CLEAN_READINGS = 2

/**
 * A rig that was taken off for a flight, its hub going on, looks the same: pump at rest, and the hangar's air creeps into
 * the box. Where that air is wet it jumps, and is told from a stuck outlet at once; in a dry hangar it passes the limit by
 * a percent or two. The landing is what tells, and few flights of small aircraft, preparation included, take longer; a stuck
 * outlet has to be known within six hours. Waiting costs little: the tightest engine lets in a hundredth of the hangar's air
 * an hour, the leakiest that still cycles a tenth.
 */
const FLIGHT_S = 4.5 * 3600
/**
 * Where an engine has come back wet and no flight was ever logged, nobody will tell of this one's landing either: only the
 * hook-up ends it, some hours later. That is as long as can be waited and known in six hours.
 */
const NEVER_LOGGED_S = 5.5 * 3600

type IdleMemory = {
  sinceS: number | null
  /**
   * Since when an outlet in order would have started the pump, s: the air has been above its limit for longer than it may be
   * late. That it is back in the band by the warmth of the day proves nothing; only a run does.
   */
  missedS: number | null
  /** Since when the air has been above the band's start, where an outlet without a tolerance would have started it, s. */
  aboveS: number | null
  fromPct: number
  /** Readings in a row while the pump runs. */
  clean: number
  /** Readings in a row just under the limit. */
  under: number
  /** Readings in a row not above the band's start. */
  inBand: number
  /** Nobody listened until now. */
  isAfterGap: boolean
}

const start = (): IdleMemory => ({
  sinceS: null,
  missedS: null,
  aboveS: null,
  fromPct: 0,
  clean: 0,
  under: 0,
  inBand: 0,
  isAfterGap: false,
})

function forget(memory: IdleMemory): void {
  memory.sinceS = null
  memory.missedS = null
  memory.aboveS = null
}

/**
 * Air that creeps over the limit crosses it many times with the noise. Where the outlet starts was crossed already; it is
 * two readings in a row under the limit, or one back in the band, that it has to be above it anew, until the switch is missed;
 * and two in a row back in the band that start the clock again.
 */
const UNDER_READINGS = 2

/** Above this the outlet should have started the pump, % RH as reported. */
export function startLimitPct(moment: Moment): number {
  const { band, switchTolPct } = moment.settings
  return Math.max(band.startPct + switchTolPct, moment.switchStartPct + SIGMAS * moment.sensor.sigmaPct)
}

/** How long an outlet may be late, s: polls, reports and readings included. */
export function switchingTimeS(moment: Moment): number {
  return Math.max(FOR_MIN_S, SPACINGS * moment.spacingS, LAGS * moment.reportLagS)
}

/** How long before it is said, s: the rig may be off for a flight that is entered when it has landed. */
function waitS(moment: Moment): number {
  const isNeverLogged = moment.flightAtS === null && moment.wettedAtS !== null
  return Math.max(isNeverLogged ? NEVER_LOGGED_S : FLIGHT_S, switchingTimeS(moment))
}

const NO_PUMP: Verdict = {
  kind: 'unknown',
  why: 'neither the pump nor its power is reported, so an outlet that does not start looks like a dead pump',
}

const FLOWN: Verdict = {
  kind: 'unknown',
  why: 'the rig has not been seen back on since the last flight, so its air may be that of the hangar',
}

const UNHOOKED: Verdict = {
  kind: 'unknown',
  why: 'the air at the sensor jumped at rest, as it does when the rig is taken off the engine',
}

/** That an outlet is late is known only above its tolerance; how long it has been is counted from the band's start on. */
function followBand(memory: IdleMemory, { settings }: Moment, atS: number, humidityPct: number): void {
  if (humidityPct > settings.band.startPct) {
    memory.aboveS ??= atS
    memory.inBand = 0
    return
  }
  memory.inBand++
  if (memory.inBand >= UNDER_READINGS && memory.missedS === null) memory.aboveS = null
}

/** A reading; `limitPct`: above it the outlet should have started the pump, `null` while it runs. */
function follow(memory: IdleMemory, moment: Moment, sample: Sample, limitPct: number | null): void {
  const humidityPct = returnPct(sample)
  if (humidityPct === null) return
  memory.clean = limitPct === null ? memory.clean + 1 : 0
  if (limitPct === null) return
  followBand(memory, moment, sample.atS, humidityPct)
  if (humidityPct > limitPct) {
    if (memory.sinceS === null) memory.fromPct = humidityPct
    memory.sinceS ??= sample.atS
    memory.under = 0
    return
  }
  memory.under++
  if (humidityPct <= moment.settings.band.startPct || memory.under >= UNDER_READINGS) memory.sinceS = null
}

/** In a gap too short for a flight the rig stayed where it was, and a pump that had run would have dried its air. */
function endGap(memory: IdleMemory, moment: Moment): void {
  if (memory.isAfterGap && moment.offMinBefore >= FLIGHT_MIN) forget(memory)
  memory.isAfterGap = false
}

function step(memory: IdleMemory, moment: Moment, open: OpenAlert | null): Verdict {
  if (moment.fresh.length === 0) return SAME
  endGap(memory, moment)
  if (moment.pump.basis === 'inferred') return NO_PUMP
  if (moment.unhookedAtS !== null) {
    forget(memory)
    return UNHOOKED
  }
  // That the rig is still off is said by left-off, with the time that an owner needs.
  if (moment.unansweredFlightAtS !== null && open === null) {
    forget(memory)
    return FLOWN
  }
  if (moment.pump.state === 'unknown') {
    forget(memory)
    return SAME
  }
  const isIdle = moment.pump.state === 'rest'
  // Air that is in the band since that was changed has missed no switch.
  const { band, switchTolPct } = moment.settings
  const wasAbove = memory.sinceS !== null || memory.missedS !== null
  if (!isIdle || (wasAbove && memory.fromPct <= band.startPct + switchTolPct)) forget(memory)
  const limitPct = startLimitPct(moment)
  for (const sample of moment.fresh) follow(memory, moment, sample, isIdle ? limitPct : null)
  if (open !== null && memory.clean >= CLEAN_READINGS)
    return { kind: 'clear', evidence: { endedBy: 'pump runs' } }
  if (memory.sinceS !== null && moment.atS - memory.sinceS >= switchingTimeS(moment))
    memory.missedS ??= memory.sinceS
  const waitsSinceS = Math.min(memory.missedS ?? moment.atS, memory.aboveS ?? moment.atS)
  const isDue = memory.missedS !== null && moment.atS - waitsSinceS >= waitS(moment)
  if (memory.missedS === null || !isDue) return open === null ? CLEAR : SAME
  return consequent(moment, open, {
    sinceS: memory.missedS,
    evidence: {
      fromPct: memory.fromPct,
      nowPct: moment.latest.return?.humidityPct ?? null,
      nowAtS: moment.latest.return?.atS ?? null,
      tempC: moment.latest.return?.tempC ?? null,
      limitPct,
      startPct: moment.settings.band.startPct,
      pumpBasis: moment.pump.basis,
      pumpRestsSinceS: moment.pump.sinceS,
    },
  })
}

/**
 * The air is wetter than the band and the pump does not start: outlet, hub's rule, mains. Needs the pump's state or its
 * power. Over when the pump runs.
 */
export const wetAndIdle: Rule<IdleMemory> = {
  name: 'wet-and-idle',
  start,
  step,
  pause: (memory, moment) => {
    memory.clean = 0
    memory.under = 0
    memory.isAfterGap = moment.isGap && moment.suspended === null
    if (!memory.isAfterGap) forget(memory)
  },
}
