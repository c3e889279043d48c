import type { AlertEvent, Evidence, RuleName, Urgency } from '../../src/core/fold/outputs.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'
import type { RigPlan } from '../../src/core/rig/plan.ts'
import { nextBetween, randomOfSeed } from '../../src/core/rig/random.ts'
import { FAULT_CASES, type FaultCase, type Since } from './fault-cases.ts'
import { describeRig } from './rig-varieties.ts'
import type { RigOutput } from '../../src/core/rig/simulate.ts'
import { type Model, planOf } from './simulated.ts'
import { type Watched, fork, watch, watchOn } from './watched-rig.ts'

const HOUR = 3600
const DAY = 24 * HOUR
/** A warning of used beads was right if they are baked within this time, s, or with one flight in between. */
const RIGHT_WITHIN_S = 28 * DAY
export const BENCH_START_S = 1_743_465_600

export type FaultResult = {
  readonly fault: string
  readonly outcome: 'caught' | 'late' | 'missed' | 'not shown' | 'already open'
  /** From when it could be seen to the alert, h. */
  readonly delayH: number | null
  readonly limitH: number | null
  readonly rule: RuleName | null
  /** Day of the bench on which the fault began. */
  readonly day: number
  /** Other alerts raised meanwhile, for debugging. */
  readonly others: readonly string[]
}

export type Alarm = {
  readonly day: number
  readonly rule: RuleName
  readonly urgency: Urgency
  readonly evidence: Evidence
  /** Why it does not count as false, if it does not. */
  readonly right: string | null
}

export type RigResult = {
  readonly seed: number
  readonly rig: string
  readonly days: number
  readonly alarms: readonly Alarm[]
  readonly faults: readonly FaultResult[]
}

const asks = (event: AlertEvent) => event.event !== 'over' && event.urgency !== 'note'

/** While a rig is off nothing is judged: what breaks then breaks when it is back on. */
function whileHookedUp({ flights }: RigPlan, atS: number): number {
  return flights.find((flight) => flight.offS <= atS && atS < flight.onS)?.onS ?? atS
}

/** Runs one case from the healthy rig's present on. */
function runCase(healthy: Watched, fault: FaultCase, longestSameH: number): FaultResult | null {
  const random = randomOfSeed(healthy.rig.plan.seed * 31 + fault.name.length)
  const faultS = whileHookedUp(
    healthy.rig.plan,
    healthy.rig.atS() + Math.floor(nextBetween(random, 0, 24)) * HOUR,
  )
  const plan = fault.befall(healthy.rig.plan, faultS, random)
  if (plan === null) return null
  const rules = new Set([...fault.rules, ...(fault.alsoBy?.(plan) ?? [])])
  const broken = fork(healthy, plan)
  const returns: Reading[] = []
  const others: string[] = []
  let showsS: number | null = null
  let limitH: number | null = null
  const wasOpen = healthy.memory.rules.open.some((alert) => rules.has(alert.rule) && alert.urgency !== 'note')
  const day = Math.round((faultS - BENCH_START_S) / DAY)
  const result = (outcome: FaultResult['outcome'], caught?: AlertEvent): FaultResult => ({
    fault: fault.name,
    outcome,
    delayH: caught === undefined || showsS === null ? null : Math.max(0, (caught.atS - showsS) / HOUR),
    limitH,
    rule: caught?.rule ?? null,
    day,
    others,
  })
  if (wasOpen) return result('already open')
  const endS = faultS + fault.daysMax * DAY
  let caught: AlertEvent | undefined
  while (broken.rig.atS() < endS) {
    const { truth, events, output } = watchOn(broken, HOUR)
    if (truth.atS > faultS) {
      for (const reading of output.readings) if (reading.place === 'return') returns.push(reading)
      const since: Since = { plan, faultS, truth, returns, longestSameH }
      showsS ??= fault.showsAtS(since)
      if (showsS !== null) limitH = Math.max(limitH ?? 0, fault.withinH(since))
    }
    for (const event of events) {
      if (asks(event) && rules.has(event.rule) && event.atS >= faultS) caught ??= event
      else
        others.push(
          `${event.event} ${event.rule} ${event.urgency} +${((event.atS - faultS) / HOUR).toFixed(1)} h`,
        )
    }
    if (caught !== undefined && (showsS !== null || rules.has(caught.rule))) {
      return result(
        showsS === null || (caught.atS - showsS) / HOUR <= (limitH ?? 0) ? 'caught' : 'late',
        caught,
      )
    }
    if (showsS !== null && broken.rig.atS() > showsS + 4 * (limitH ?? 0) * HOUR) break
  }
  return showsS === null ? result('not shown') : result('missed')
}

/** Until when a bake shows that a warning of used beads was right: it has to come a flight ahead, s. */
function rightUntilS({ flights }: RigPlan, atS: number): number {
  const second = flights.filter((flight) => flight.landS > atS)[1]
  return Math.max(atS + RIGHT_WITHIN_S, second?.landS ?? 0)
}

/** Whether an alarm on the healthy rig told the truth after all. */
function whyRight(
  plan: RigPlan,
  event: AlertEvent,
  exitPct: number,
  bakesS: readonly number[],
): string | null {
  const isOfBeads = ['beads-spent', 'floor-rising', 'band-not-reached'].includes(event.rule)
  if (isOfBeads && exitPct > 0.2 * plan.outlet.stopPct) return `exit air ${exitPct.toFixed(1)} %`
  const untilS = rightUntilS(plan, event.atS)
  const baked = bakesS.find((atS) => atS > event.atS && atS < untilS)
  if (event.rule === 'beads-spent' && baked !== undefined) return 'baked within four weeks or a flight'
  const isOut = plan.flights.some(
    (flight) => flight.hub === 'silent' && event.atS >= flight.offS && event.atS < flight.onS + HOUR,
  )
  if (event.rule === 'silent' && isOut) return 'the hub was unplugged'
  return null
}

/** Bakes after the bench: whether a warning of its last weeks told the truth is seen only then. */
function laterBakesS({ rig }: Watched, lastAlarmS: number): number[] {
  const output: RigOutput = { readings: [], log: [] }
  const untilS = rightUntilS(rig.plan, lastAlarmS)
  if (rig.atS() < untilS) rig.advance(untilS - (untilS % 300), output)
  return output.log.filter(({ what }) => what === 'bake').map(({ atS }) => atS)
}

export type RunOptions = {
  readonly model: Model
  readonly seed: number
  readonly days: number
  readonly only: string | null
}

/** One rig: healthy for `days`, and each fault tried once from a day of its second third. */
export function runRig({ model, seed, days, only }: RunOptions): RigResult {
  const plan = planOf(model, seed, BENCH_START_S, days + 60)
  const healthy = watch(model, plan)
  const random = randomOfSeed(seed + 5)
  const forkS = BENCH_START_S + Math.floor(nextBetween(random, 0.35, 0.75) * days) * DAY + 10 * HOUR
  const events: { event: AlertEvent; exitPct: number }[] = []
  const urgencies = new Map<RuleName, Urgency>()
  const bakesS: number[] = []
  const faults: FaultResult[] = []
  let same = { value: -1, fromS: 0 }
  let longestSameH = 0
  while (healthy.rig.atS() < BENCH_START_S + days * DAY) {
    const hour = watchOn(healthy, 2 * HOUR)
    for (const event of hour.events) {
      // One that becomes less urgent asks nobody anew: the messages do not tell it either.
      const isEased = event.event === 'changed' && urgencies.get(event.rule) === 'now'
      if (asks(event) && !isEased) events.push({ event, exitPct: hour.truth.exitPct })
      urgencies.set(event.rule, event.urgency)
    }
    for (const entry of hour.output.log) if (entry.what === 'bake') bakesS.push(entry.atS)
    for (const { place, humidityPct, atS } of hour.output.readings) {
      if (place !== 'return' || humidityPct === null) continue
      if (humidityPct !== same.value) same = { value: humidityPct, fromS: atS }
      longestSameH = Math.max(longestSameH, (atS - same.fromS) / HOUR)
    }
    if (healthy.rig.atS() !== forkS) continue
    for (const fault of FAULT_CASES) {
      if (only !== null && !fault.name.includes(only)) continue
      const result = runCase(healthy, fault, longestSameH)
      if (result !== null) faults.push(result)
    }
  }
  bakesS.push(...laterBakesS(healthy, events.at(-1)?.event.atS ?? 0))
  return {
    seed,
    rig: describeRig(plan),
    days,
    alarms: events.map(({ event, exitPct }) => ({
      day: Math.round((event.atS - BENCH_START_S) / DAY),
      rule: event.rule,
      urgency: event.urgency,
      evidence: event.evidence,
      right: whyRight(plan, event, exitPct, bakesS),
    })),
    faults,
  }
}
