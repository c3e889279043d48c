import { saturationDensityGm3 } from '../../src/core/air/vapour.ts'
import type { RuleName } from '../../src/core/fold/outputs.ts'
import type { Fault, RigPlan } from '../../src/core/rig/plan.ts'
import { type Random, nextBetween } from '../../src/core/rig/random.ts'
import type { RigTruth } from '../../src/core/rig/simulate.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'

const HOUR = 3600
const DAY = 24 * HOUR

/** What has been seen of a rig since its fault began. */
export type Since = {
  readonly plan: RigPlan
  readonly faultS: number
  readonly truth: RigTruth
  readonly returns: readonly Reading[]
  /** Longest stretch of equal readings while the rig was healthy, h. */
  readonly longestSameH: number
}

export type FaultCase = {
  readonly name: string
  /** The rig's fate from `faultS` on; `null` where the fault cannot happen to this rig. */
  readonly befall: (plan: RigPlan, faultS: number, random: Random) => RigPlan | null
  /** When the fault can be seen at all, s; `null`: not yet. */
  readonly showsAtS: (since: Since) => number | null
  /** Hours from then within which somebody must know. */
  readonly withinH: (since: Since) => number
  readonly rules: readonly RuleName[]
  /** Others that tell of it on rigs where the two cannot be told apart. */
  readonly alsoBy?: (plan: RigPlan) => readonly RuleName[]
  readonly daysMax: number
}

function withFault(plan: RigPlan, kind: Fault['kind'], fromS: number, size = 1): RigPlan {
  const fault = { kind, fromS, untilS: Number.MAX_SAFE_INTEGER, size }
  return { ...plan, faults: [...plan.faults, fault] }
}

/** Nobody flies for a while: the fault is what is looked at. */
function grounded(plan: RigPlan, fromS: number, days: number): RigPlan {
  return {
    ...plan,
    flights: plan.flights.filter((flight) => flight.offS < fromS || flight.offS > fromS + days * DAY),
  }
}

/** The limit is crossed when it is for half an hour, three readings at least: a spike of noise crosses nothing. */
function crossedAtS(returns: readonly Reading[], isBeyond: (humidityPct: number) => boolean): number | null {
  let run: Reading[] = []
  for (const reading of returns) {
    run = isBeyond(reading.humidityPct ?? Number.NaN) ? [...run, reading] : []
    const first = run[0]
    if (first !== undefined && run.length >= 3 && reading.atS - first.atS >= HOUR / 2) return reading.atS
  }
  return null
}

const seesPump = ({ hub }: RigPlan) => hub.hasPump || hub.hasPower

/**
 * The first hour with the pump on since the last fault of the plan began. Where the hub reports neither state nor power, a
 * run shows once a posted reading has reached the start limit: before, nothing in the posts says that there is one.
 */
function firstRunS({ plan, truth, returns }: Since): number | null {
  if (!truth.isOn || truth.atS <= (plan.faults.at(-1)?.fromS ?? 0)) return null
  const isPosted = returns.some(({ humidityPct }) => (humidityPct ?? 0) >= plan.outlet.startPct)
  return seesPump(plan) || isPosted ? truth.atS : null
}

const hasOpenCoil = ({ faults }: RigPlan) => faults.at(-1)?.size === 1

/** Where power alone tells runs from rests, a pump that draws none is an outlet that does not start. */
const isIdle = (plan: RigPlan) => hasOpenCoil(plan) && plan.hub.hasPower && !plan.hub.hasPump

/** Without a run to be seen a pump that is dead after a flight is a rig that was not hooked up again. */
const isLikeLeftOff = (plan: RigPlan) => !seesPump(plan) || isIdle(plan)

/**
 * Began between the landing and the first run after a flight in the logbook that nobody answered with "back on": no run with a drop has followed, so what can be
 * told is that the rig is not back on, as soon as after any flight. By hook-up and half a day a healthy rig has run.
 */
function isUnanswered({ flights, faults }: RigPlan): boolean {
  const atS = faults.at(-1)?.fromS ?? 0
  const last = flights.findLast((flight) => flight.offS <= atS)
  return last !== undefined && last.isLogged && !last.isRigLogged && atS < last.onS + 12 * HOUR
}

const leftOffIfUnanswered = (plan: RigPlan): readonly RuleName[] => (isUnanswered(plan) ? ['left-off'] : [])
const LEFT_OFF_H = 40

function startCrossedS({ plan, returns }: Since): number | null {
  const limitPct = plan.outlet.startPct + 1 + 2 * plan.sensor.noisePct
  return crossedAtS(returns, (humidityPct) => humidityPct > limitPct)
}

/** Began as the rig came back on after a flight. */
const isJustBack = ({ flights, faults }: RigPlan) => flights.some(({ onS }) => onS === faults.at(-1)?.fromS)

/**
 * On the wet plateau nothing can be told for longer. A sensor inside the engine reads the same saturated air whether it is
 * moved or not, until a working pump would have taken the water out: half as long again as that takes, five days at most.
 * As a rig comes back on it is the wet plateau, whether or not the hot engine has dried by itself meanwhile.
 */
function wetHours({ plan, truth }: Since): number {
  if (truth.liquidG <= 0.3) return isJustBack(plan) ? 36 : 0
  if (plan.sensor.sits !== 'engine') return 36
  const gPerH = (plan.flowLPerMin * 60 * saturationDensityGm3(truth.engineC)) / 1000
  return Math.max(36, Math.min(120, (1.5 * truth.liquidG) / gPerH))
}

const wetOr = (hours: number) => (since: Since) => Math.max(hours, wetHours(since))

/** Metered power tells within an hour, where the outlet is known to be on. */
function deadPumpWithinH(since: Since): number {
  if (isIdle(since.plan)) return 6
  return since.plan.hub.hasPower && hasOpenCoil(since.plan) ? 1 : wetOr(12)(since)
}

const deadPumpShowsS = (since: Since) => (isIdle(since.plan) ? startCrossedS(since) : firstRunS(since))

export const FAULT_CASES: readonly FaultCase[] = [
  {
    name: 'pump dead',
    befall: (plan, atS, random) =>
      withFault(grounded(plan, atS, 12), 'pump-dead', atS, nextBetween(random, 0, 1) < 0.5 ? 1 : 2),
    showsAtS: deadPumpShowsS,
    withinH: deadPumpWithinH,
    // Where only power is metered, a pump that draws none has not been started.
    rules: ['no-drop', 'open-loop', 'band-not-reached', 'wet-and-idle'],
    daysMax: 14,
  },
  {
    name: 'pump dead after a flight',
    befall: (plan, atS, random) => {
      const flight = plan.flights.find((one) => one.onS > atS)
      const size = nextBetween(random, 0, 1) < 0.5 ? 1 : 2
      return flight === undefined ? null : withFault(plan, 'pump-dead', flight.onS - 60, size)
    },
    showsAtS: deadPumpShowsS,
    withinH: (since) => {
      const { plan } = since
      if (plan.hub.hasPower && plan.hub.hasPump && hasOpenCoil(plan)) return 1
      // Right after a flight it is the wet plateau, whether or not the hot engine has dried by itself meanwhile.
      return Math.max(isLikeLeftOff(plan) ? 40 : 36, wetHours(since))
    },
    rules: ['no-drop', 'open-loop', 'band-not-reached', 'wet-and-idle'],
    alsoBy: (plan) => (isLikeLeftOff(plan) ? ['left-off'] : []),
    daysMax: 40,
  },
  {
    name: 'supply hose off',
    befall: (plan, atS) => withFault(grounded(plan, atS, 12), 'supply-off', atS),
    showsAtS: firstRunS,
    withinH: wetOr(12),
    rules: ['no-drop', 'open-loop', 'band-not-reached', 'leak'],
    daysMax: 14,
  },
  {
    name: 'cap off',
    befall: (plan, atS, random) =>
      withFault(grounded(plan, atS, 12), 'cap-off', atS, 60 * plan.flowLPerMin * nextBetween(random, 1.5, 5)),
    showsAtS: firstRunS,
    withinH: wetOr(12),
    rules: ['no-drop', 'open-loop', 'band-not-reached', 'leak'],
    daysMax: 14,
  },
  {
    name: 'loop open',
    // A sensor inside the engine sees none of the hangar's air.
    befall: (plan, atS) =>
      plan.sensor.sits === 'engine' ? null : withFault(grounded(plan, atS, 12), 'return-off', atS),
    showsAtS: firstRunS,
    withinH: (since) => (isUnanswered(since.plan) ? LEFT_OFF_H : wetOr(3)(since)),
    rules: ['open-loop', 'no-drop'],
    alsoBy: leftOffIfUnanswered,
    daysMax: 14,
  },
  {
    name: 'outlet does not start',
    befall: (plan, atS) => withFault(grounded(plan, atS, 20), 'stuck-off', atS),
    showsAtS: startCrossedS,
    // Without them a pump that does not start is one that moves nothing.
    withinH: ({ plan }) => (isUnanswered(plan) ? LEFT_OFF_H : seesPump(plan) ? 6 : 12),
    rules: ['wet-and-idle', 'no-drop'],
    alsoBy: leftOffIfUnanswered,
    daysMax: 20,
  },
  {
    name: 'outlet does not stop',
    // Without the pump's state or power, a pump that runs on is a rest in a drying engine.
    befall: (plan, atS) => (seesPump(plan) ? withFault(grounded(plan, atS, 20), 'stuck-on', atS) : null),
    showsAtS: ({ plan, returns }) => {
      const limitPct = plan.outlet.stopPct - 1 - 2 * plan.sensor.noisePct
      return crossedAtS(returns, (humidityPct) => humidityPct < limitPct)
    },
    withinH: () => 12,
    rules: ['stuck-running'],
    daysMax: 10,
  },
  {
    name: 'silent',
    befall: (plan, atS) => withFault(grounded(plan, atS, 5), 'silent', atS),
    showsAtS: ({ faultS }) => faultS,
    // A hub that is unplugged for a flight is silent too.
    withinH: ({ plan }) =>
      isUnanswered(plan)
        ? LEFT_OFF_H
        : Math.max(
            3,
            (3 * (plan.hub.mode === 'on-change' ? plan.hub.quietMaxS : plan.hub.everyS)) / HOUR + 1,
          ),
    rules: ['silent'],
    alsoBy: leftOffIfUnanswered,
    daysMax: 3,
  },
  {
    name: 'sensor frozen',
    befall: (plan, atS) => withFault(grounded(plan, atS, 12), 'frozen', atS),
    showsAtS: ({ faultS }) => faultS,
    withinH: ({ longestSameH }) => Math.max(72, 3 * longestSameH),
    rules: ['frozen'],
    daysMax: 12,
  },
  {
    name: 'leak',
    befall: (plan, atS, random) =>
      withFault(grounded(plan, atS, 20), 'leak', atS, nextBetween(random, 5, 12)),
    // Time within 5 days of a flight does not count: films give off water then.
    showsAtS: ({ plan, faultS }) => {
      // A flight that is under way when the seal goes is the last one: it is not cancelled.
      const onS = plan.flights.findLast((flight) => flight.offS < faultS)?.onS ?? 0
      return Math.max(faultS, onS + 5 * DAY)
    },
    withinH: () => 72,
    rules: ['leak', 'open-loop'],
    daysMax: 14,
  },
  {
    name: 'not back on after a flight',
    befall: (plan, atS) => {
      const flight = plan.flights.find((one) => one.landS > atS && one.isLogged)
      if (flight === undefined) return null
      const flights = plan.flights.filter((one) => one.landS < flight.landS)
      return { ...plan, flights: [...flights, { ...flight, onS: Number.MAX_SAFE_INTEGER }] }
    },
    showsAtS: ({ plan, truth }) => {
      const landS = plan.flights.at(-1)?.landS ?? 0
      return truth.atS >= landS ? landS : null
    },
    withinH: () => 40,
    // A hub unplugged together with the rig is silent, and says that first.
    rules: ['left-off', 'silent'],
    daysMax: 45,
  },
]
