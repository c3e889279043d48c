import { humidityPctOfDensity, saturationDensityGm3, vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import type { Place, RigSettings } from '../../../src/core/fold/inputs.ts'
import type { AlertEvent, Cycle, OpenAlert } from '../../../src/core/fold/outputs.ts'
import { type RulesMemory, startRules, stepRules } from '../../../src/core/rules/alerts.ts'
import type { EndedRun, Moment, Sample } from '../../../src/core/rules/rule.ts'

export const STEP_S = 300
export const HOUR_S = 3600
export const DAY_S = 86_400

export const SETTINGS: RigSettings = {
  band: { startPct: 15, stopPct: 6 },
  beadMassG: 2000,
  beadKind: 'regular-gel',
  volumeL: 45,
  flowLPerMin: 2.5,
  reportEveryS: 300,
  elevationM: 0,
  pumpOnW: 1.5,
  switchTolPct: 1,
  sensorSits: 'box',
  boxL: 2,
  ambient: { humidityPct: 60, tempC: 15 },
}

const NOBODY: Readonly<Record<Place, Sample | null>> = {
  return: null,
  supply: null,
  ambient: null,
  engine: null,
}

/** A rig in order, at rest in air of 10 %, 15 degC, that nothing special is known of. */
export const QUIET: Moment = {
  atS: 0,
  settings: SETTINGS,
  fresh: [],
  latest: NOBODY,
  heardAtS: null,
  gapMaxS: 1200,
  spacingS: 300,
  isGap: false,
  suspended: null,
  isAway: false,
  offSinceS: null,
  offRuns: { runs: 0, engineRuns: 0, wetRuns: 0, firstRunAtS: null, lastRunAtS: null },
  isFloorCheck: false,
  isLoopTest: false,
  preheatAtS: null,
  pump: { state: 'rest', basis: 'reported', sinceS: null },
  isRunSprung: false,
  pumpPowerW: null,
  reportLagS: 0,
  lastRunAtS: null,
  switchStartPct: 15,
  switchStopPct: 6,
  // So coarse that constant test readings are no frozen sensor; the tests of that rule say otherwise.
  sensor: { sigmaPct: 0.2, stepPct: 0.1, stuckShare: 0.995 },
  wetGate: { isOpen: false, openedAtS: null, movedG: null, budgetG: 40, expectedH: null },
  flightAtS: null,
  wettedAtS: null,
  driedAtS: null,
  stoppedAtS: null,
  sinceFlightG: null,
  unhookedAtS: null,
  unansweredFlightAtS: null,
  kPerH: { low: 1, mid: 1.5, high: 2.5 },
  floorGm3: { mid: vapourDensityGm3(2, 15), high: vapourDensityGm3(3, 15) },
  lambdaRefPerH: 0.02,
  ambientGm3: vapourDensityGm3(60, 15),
  ambientPct: 60,
  ambientTempC: 15,
  isAmbientMeasured: false,
  metalTempC: 15,
  coldestMetalTempC: 15,
  metalPct: 10,
  closed: [],
  ended: [],
  runTimeRatio: null,
  runTimeRatioLnSd: null,
  floorCheckPct: null,
  forecast: null,
  beadsOdds: null,
  causes: () => null,
  ledger: () => null,
  fillFromS: null,
  offMinBefore: 0,
  backAtS: null,
}

export function sampleAt(atS: number, humidityPct: number | null, more: Partial<Sample> = {}): Sample {
  const tempC = more.tempC === undefined ? 15 : more.tempC
  const densityGm3 = humidityPct === null ? null : vapourDensityGm3(humidityPct, tempC ?? 20)
  return {
    atS,
    place: 'return',
    humidityPct,
    correctedPct: humidityPct,
    tempC,
    densityGm3,
    pumpOn: null,
    powerW: null,
    ...more,
  }
}

export const CYCLE: Cycle = {
  atS: 0,
  runFromS: 0,
  runToS: 3600,
  basis: 'reported',
  startPct: 15,
  peakPct: 17,
  endPct: 6,
  apparentFloorPct: 2,
  floorSePct: 0.5,
  runTimeRatio: null,
  runMin: 60,
  restMin: 480,
  kPerH: 1.5,
  ingressPerH: 0.02,
  waterG: 0.1,
  energyWh: null,
  tempC: 15,
  daysSinceFlight: 20,
  afterFlight: false,
}

export const ENDED: EndedRun = {
  fromS: 0,
  toS: 3600,
  startPct: 15,
  peakPct: 17,
  topPct: 17,
  engineGm3: null,
  endPct: 6,
  tempC: 15,
  daysSinceFlight: 20,
  afterFlight: false,
  isWhole: true,
  lnFallMin: null,
  floor: null,
  dryDays: 20,
}

/** What one grid step brings: the return reading (or none), and anything else that differs from `QUIET`. */
export type Step = {
  readonly pct?: number | null
  readonly sample?: Partial<Sample>
  /** Readings of other places at this grid time. */
  readonly others?: readonly (Partial<Sample> & {
    readonly place: Place
    readonly humidityPct: number | null
  })[]
  readonly pump?: 'run' | 'rest' | 'unknown'
  readonly with?: Partial<Moment> | undefined
}

/**
 * Steps all rules along the grid and keeps what the fold would: the latest samples, when the pump's state began, gaps.
 * The floor is carried as RH, so that a test may change the temperature.
 */
export class Line {
  memory: RulesMemory = startRules()
  events: AlertEvent[] = []
  atS: number
  moment: Moment
  floorPct = { mid: 2, high: 3 }

  constructor(base: Partial<Moment> = {}, fromS = 1_767_225_600) {
    this.atS = fromS
    this.moment = { ...QUIET, ...base, atS: fromS }
  }

  get open(): readonly OpenAlert[] {
    return this.memory.open
  }

  isOpen(rule: string): boolean {
    return this.open.some((alert) => alert.rule === rule)
  }

  step(step: Step): readonly AlertEvent[] {
    this.atS += STEP_S
    const own = step.pct === undefined ? [] : [sampleAt(this.atS, step.pct, step.sample)]
    const fresh = [...own, ...(step.others ?? []).map((o) => sampleAt(this.atS, o.humidityPct, o))]
    const latest = { ...this.moment.latest }
    for (const sample of fresh) if (sample.humidityPct !== null) latest[sample.place] = sample
    const heardAtS = fresh.length > 0 ? this.atS : this.moment.heardAtS
    const state = step.pump ?? this.moment.pump.state
    const sinceS = state === this.moment.pump.state ? (this.moment.pump.sinceS ?? this.atS) : this.atS
    const tempC = latest.return?.tempC ?? 20
    const floorGm3 = {
      mid: vapourDensityGm3(this.floorPct.mid, tempC),
      high: vapourDensityGm3(this.floorPct.high, tempC),
    }
    const returnAtS = latest.return?.atS ?? null
    this.moment = {
      ...this.moment,
      atS: this.atS,
      fresh,
      latest,
      heardAtS,
      floorGm3,
      pump: { ...this.moment.pump, state, sinceS },
      isGap: returnAtS !== null && this.atS - returnAtS > this.moment.gapMaxS,
      closed: [],
      ended: [],
      floorCheckPct: null,
      ...step.with,
    }
    const { events } = stepRules(this.memory, this.moment)
    this.events.push(...events)
    return events
  }

  /** `hours` of the same step, or of what `make` gives for the hour since the start of the stretch. */
  forHours(hours: number, make: Step | ((hour: number) => Step)): readonly AlertEvent[] {
    const before = this.events.length
    const steps = Math.round((hours * HOUR_S) / STEP_S)
    for (let i = 1; i <= steps; i++) {
      this.step(typeof make === 'function' ? make((i * STEP_S) / HOUR_S) : make)
      // Every few steps through JSON, as a restart does: memory must be plain data and hold all there is.
      if (i % 7 === 0) {
        const revived: RulesMemory = JSON.parse(JSON.stringify(this.memory))
        this.memory = revived
      }
    }
    return this.events.slice(before)
  }

  /** Events as "hour event rule urgency", hours since `fromS`. */
  story(fromS: number): string[] {
    return this.events.map(
      (e) => `${((e.atS - fromS) / HOUR_S).toFixed(1)} ${e.event} ${e.rule} ${e.urgency}`,
    )
  }
}

/** RH of air that keeps its vapour while its temperature changes. */
export function sameVapour(pct: number, fromC: number, toC: number): number {
  return humidityPctOfDensity((pct / 100) * saturationDensityGm3(fromC), toC)
}

/**
 * A timeline: one letter lasts `minutes` and stands for a step in `letters`; the answer has one letter for the end of
 * each: `o` while the rule's alert is open as visit or note, `N` while it is open as now, `.` otherwise.
 */
export function timeline(
  line: Line,
  rule: string,
  seen: string,
  letters: Readonly<Record<string, Step>>,
  minutes = 10,
): string {
  let states = ''
  for (const letter of seen) {
    const step = letters[letter]
    if (step === undefined) throw new Error(`no step for the letter ${letter}`)
    line.forHours(minutes / 60, step)
    const open = line.open.find((alert) => alert.rule === rule)
    states += open === undefined ? '.' : open.urgency === 'now' ? 'N' : 'o'
  }
  return states
}

/** Air in a rig in order: down to 2 % with k = 1.5 /h, from what the surge brought. */
export const drying = (fromPct: number, hour: number): number => 2 + (fromPct - 2) * Math.exp(-1.5 * hour)

/** A rig whose pump has rested for two hours, at its limit. */
export function rested(base: Partial<Moment> = {}): Line {
  const line = new Line(base)
  line.forHours(2, { pct: 15, pump: 'rest' })
  return line
}
