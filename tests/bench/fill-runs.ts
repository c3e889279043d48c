import type { AlertEvent, Forecast, Interval, RuleName } from '../../src/core/fold/outputs.ts'
import type { RigPlan } from '../../src/core/rig/plan.ts'
import { BENCH_START_S } from './fault-runs.ts'
import { describeRig } from './rig-varieties.ts'
import { type Model, planOf, type Simulated } from './simulated.ts'
import { watch, watchOn } from './watched-rig.ts'

const HOUR = 3600
const DAY = 24 * HOUR
/** Used beads are found a while after: the alert must come before that. */
const FOUND_AFTER_S = 2 * DAY
/** Rules whose alerts tell used-up beads, and those that take them for another fault. */
const OF_BEADS: ReadonlySet<RuleName> = new Set(['beads-spent', 'floor-rising', 'band-not-reached'])
const OF_OTHERS: ReadonlySet<RuleName> = new Set(['no-drop', 'open-loop', 'leak'])
/** From so long before their end on such an alert is about them. */
const ABOUT_S = 3 * DAY

export type FillResult = {
  /** 1: the first fill of the jar. */
  readonly number: number
  readonly wasWeighed: boolean
  readonly days: number
  readonly flights: number
  readonly capacityG: number
  /** From the first warning to the end, d; negative: after it; `null`: none. */
  readonly warnedDaysAhead: number | null
  readonly warnedFlightsAhead: number | null
  /** Other faults that were told around the end, and whether before the right one. */
  readonly toldAs: readonly RuleName[]
  readonly isWrongFirst: boolean
  /** At half of the grams. */
  readonly half: {
    readonly flightsLeft: number
    readonly forecast: Interval | null
    readonly takenUpG: number
    readonly takenUp: Interval | null
    readonly capacity: Interval | null
  }
}

export type FillsResult = {
  readonly seed: number
  readonly rig: string
  readonly fills: readonly FillResult[]
}

type Sample = { readonly atS: number; readonly takenUpG: number; readonly forecast: Forecast | null }

/** A rig whose beads are used up again and again. */
function hungryPlan(model: Model, seed: number, days: number): RigPlan {
  const plan = planOf(model, seed, BENCH_START_S, days)
  return {
    ...plan,
    beads: { ...plan.beads, bakeAtExitPct: null },
    bakes: [
      {
        atS: BENCH_START_S + 2 * HOUR,
        tempC: plan.beads.bakeC,
        isLogged: true,
        isWeighed: plan.beads.isWeighed,
      },
    ],
    flights: plan.flights.map((flight) => Object.assign({}, flight, { isLogged: true })),
  }
}

function judge(
  plan: RigPlan,
  fill: { number: number; fromS: number; spentS: number; wasWeighed: boolean },
  samples: readonly Sample[],
  events: readonly AlertEvent[],
): FillResult {
  const capacityG = samples.at(-1)?.takenUpG ?? 0
  const half = samples.find((sample) => sample.takenUpG >= capacityG / 2)
  const landed = (fromS: number, toS: number) =>
    plan.flights.filter((flight) => flight.onS >= fromS && flight.onS < toS).length
  const flights = landed(fill.fromS, fill.spentS)
  const asks = events.filter((event) => event.event !== 'over' && event.urgency !== 'note')
  const warned = asks.find(({ rule }) => OF_BEADS.has(rule))
  const others = asks.filter(({ rule, atS }) => OF_OTHERS.has(rule) && atS > fill.spentS - ABOUT_S)
  const firstOther = others[0]
  return {
    number: fill.number,
    wasWeighed: fill.wasWeighed,
    days: (fill.spentS - fill.fromS) / DAY,
    flights,
    capacityG,
    warnedDaysAhead: warned === undefined ? null : (fill.spentS - warned.atS) / DAY,
    warnedFlightsAhead: warned === undefined ? null : landed(warned.atS, fill.spentS),
    toldAs: others.map(({ rule }) => rule),
    isWrongFirst: firstOther !== undefined && (warned === undefined || firstOther.atS < warned.atS),
    half: {
      // In grams: what is left over what a flight and its days have brought on average.
      flightsLeft: half === undefined ? 0 : ((capacityG - half.takenUpG) / capacityG) * flights,
      forecast: half?.forecast?.flightsLeft ?? null,
      takenUpG: half?.takenUpG ?? 0,
      takenUp: half?.forecast?.takenUpG ?? null,
      capacity: half?.forecast?.capacityG ?? null,
    },
  }
}

export type FillOptions = {
  readonly model: Model
  readonly seed: number
  readonly days: number
  /** Nobody has stated more than the band. */
  readonly isBare: boolean
}

/** The same rig, of which nobody has stated flow, volume or mass: no ledger counts its water. */
function bare(rig: Simulated): Simulated {
  return {
    ...rig,
    settings: () => ({ ...rig.settings(), flowLPerMin: null, volumeL: null, beadMassG: null }),
    fork: (plan) => bare(rig.fork(plan)),
  }
}

/** One rig over `days`: every fill is used up, found two days later and baked. */
export function runFills({ model, seed, days, isBare }: FillOptions): FillsResult {
  const watched = watch(model, hungryPlan(model, seed, days))
  if (isBare) watched.rig = bare(watched.rig)
  const fills: FillResult[] = []
  let fill = { number: 1, fromS: BENCH_START_S + 2 * HOUR, spentS: 0, wasWeighed: false }
  let samples: Sample[] = []
  let events: AlertEvent[] = []
  let forecast: Forecast | null = null
  while (watched.rig.atS() < BENCH_START_S + days * DAY) {
    const hour = watchOn(watched, 6 * HOUR)
    forecast = hour.forecast
    events.push(...hour.events)
    const { truth } = hour
    if (fill.spentS === 0) {
      samples.push({ atS: truth.atS, takenUpG: truth.takenUpG, forecast })
      if (truth.exitPct < watched.rig.plan.outlet.stopPct) continue
      fill.spentS = truth.atS
      const { bakeC, isWeighed } = watched.rig.plan.beads
      const bake = { atS: truth.atS + FOUND_AFTER_S, tempC: bakeC, isLogged: true, isWeighed }
      const { plan } = watched.rig
      watched.rig = watched.rig.fork({ ...plan, bakes: [...plan.bakes, bake] })
    } else if (truth.atS > fill.spentS + FOUND_AFTER_S) {
      fills.push(judge(watched.rig.plan, fill, samples, events))
      const wasWeighed = watched.rig.plan.beads.isWeighed
      fill = { number: fill.number + 1, fromS: fill.spentS + FOUND_AFTER_S, spentS: 0, wasWeighed }
      samples = []
      // The step in which the beads were baked may have brought the new fill's first event.
      events = hour.events.filter((event) => event.atS >= fill.fromS)
    }
  }
  return { seed, rig: describeRig(watched.rig.plan), fills }
}
