import { heldSaturationGm3 } from '../air/held-saturation.ts'
import type { Moment } from '../rules/rule.ts'
import { exchangesPerH, rigRate } from '../trace/drying-pool.ts'
import { referencePerH } from '../trace/ingress.ts'
import { equalShare, sigmaPct, stepPct } from '../trace/noise.ts'
import { usualPowerW } from '../trace/pump.ts'
import { gapMaxS, ordinarySpacingS } from '../trace/spacing.ts'
import { reportLagS, startPointPct, stopPointPct } from '../trace/switching.ts'
import { waterBudgetG } from '../trace/water-budget.ts'
import { ambientAt, carriedAtC, stoodInTempC } from './ambient.ts'
import { engineSensorC } from './engine-air.ts'
import { isSwapAsked } from './fill.ts'
import type { RigSettings } from './inputs.ts'
import { suspension } from './log-memory.ts'
import type { Memory } from './memory.ts'
import type { Work } from './work.ts'

type Mutable<T> = { -readonly [K in keyof T]: T[K] }

/** One object, written anew at every grid time: a year has a hundred thousand of them. The rules only read it. */
export type MutableMoment = Mutable<Omit<Moment, 'latest' | 'pump' | 'sensor' | 'wetGate'>> & {
  readonly latest: Mutable<Moment['latest']>
  readonly pump: Mutable<Moment['pump']>
  readonly sensor: Mutable<Moment['sensor']>
  readonly wetGate: Mutable<Moment['wetGate']>
}

/** A stretch off explains a jump of the rig's behaviour for this long after it, s. */
const OFF_EXPLAINS_S = 3 * 86_400
/** Water expected after a flight until the rig's own is known, g. */
const USUAL_FLIGHT_G = 6
/** While an engine cools its coldest parts are so much colder than the sensor in its crankcase, K: fins and lines. */
const COLDER_PARTS_K = 4
/** One-sided 95 %. */
const Z95 = 1.645

/** A moment with nothing in it yet. */
export function startMoment(settings: RigSettings): MutableMoment {
  return {
    ...startKnowledge(settings),
    atS: 0,
    settings,
    fresh: [],
    latest: { return: null, supply: null, ambient: null, engine: null },
    heardAtS: null,
    gapMaxS: 0,
    spacingS: 0,
    isGap: false,
    suspended: null,
    isAway: false,
    offSinceS: null,
    offRuns: { runs: 0, engineRuns: 0, wetRuns: 0, firstRunAtS: null, lastRunAtS: null },
    isFloorCheck: false,
    isLoopTest: false,
    preheatAtS: null,
    pump: { state: 'unknown', basis: 'inferred', sinceS: null },
    isRunSprung: false,
    flightAtS: null,
    wettedAtS: null,
    driedAtS: null,
    stoppedAtS: null,
    sinceFlightG: null,
    unansweredFlightAtS: null,
    unhookedAtS: null,
    ambientGm3: null,
    ambientPct: null,
    ambientTempC: null,
    isAmbientMeasured: false,
    metalTempC: null,
    coldestMetalTempC: null,
    metalPct: null,
    closed: [],
    ended: [],
    floorCheckPct: null,
    forecast: null,
    beadsOdds: null,
    causes: () => null,
    ledger: () => null,
    fillFromS: null,
    offMinBefore: 0,
    backAtS: null,
  }
}

type Knowledge = Pick<
  MutableMoment,
  | 'pumpPowerW'
  | 'reportLagS'
  | 'lastRunAtS'
  | 'switchStartPct'
  | 'switchStopPct'
  | 'sensor'
  | 'wetGate'
  | 'kPerH'
  | 'floorGm3'
  | 'lambdaRefPerH'
  | 'runTimeRatio'
  | 'runTimeRatioLnSd'
>

function startKnowledge(settings: RigSettings): Knowledge {
  return {
    pumpPowerW: null,
    reportLagS: 0,
    lastRunAtS: null,
    switchStartPct: settings.band.startPct,
    switchStopPct: settings.band.stopPct,
    sensor: { sigmaPct: 0, stepPct: 0, stuckShare: 0 },
    wetGate: {
      isOpen: false,
      isProven: false,
      isTimedOut: false,
      isStagnant: false,
      openedAtS: null,
      movedG: null,
      budgetG: 0,
      expectedH: null,
    },
    kPerH: { low: 0, mid: 0, high: 0 },
    floorGm3: null,
    lambdaRefPerH: null,
    runTimeRatio: null,
    runTimeRatioLnSd: null,
  }
}

/** Hours until the expected water is out at saturation, g/(F (rho_sat - rho_exit)); `null` without a flow. */
function expectedH({ memory, settings, gridS }: Work): number | null {
  const { flowLPerMin } = settings
  if (flowLPerMin === null) return null
  const tempC = carriedAtC(memory, settings, {
    atS: gridS,
    tempC: memory.places.return.latest?.tempC ?? null,
  })
  const leftG = Math.max(0.5, USUAL_FLIGHT_G - memory.gate.movedG)
  return leftG / ((flowLPerMin * 60 * heldSaturationGm3(tempC)) / 1000)
}

function floorAt(memory: Memory, tempC: number): Moment['floorGm3'] {
  const { floor } = memory
  if (floor.runs === 0) return null
  const toGm3 = heldSaturationGm3(tempC) / 100
  const highPct = floor.meanPct + Z95 * Math.sqrt(floor.variance)
  return { mid: floor.meanPct * toGm3, high: highPct * toGm3 }
}

function daysSinceFlight(memory: Memory, atS: number): number | null {
  return memory.log.flightAtS === null ? null : (atS - memory.log.flightAtS) / 86_400
}

function metalPct(work: Work, coldestC: number | null): number | null {
  const { engineGm3: densityGm3 } = work
  if (densityGm3 === null || coldestC === null) return null
  const nowC = engineSensorC(work)
  const metalC = nowC === null ? coldestC : Math.max(coldestC, nowC - COLDER_PARTS_K)
  return Math.min(100, (100 * densityGm3) / heldSaturationGm3(metalC))
}

function latest(aS: number | null, bS: number | null): number | null {
  if (aS === null || bS === null) return aS ?? bS
  return Math.max(aS, bS)
}

/** What was heard and what the logbook says. */
function writeSeen(work: Work, moment: MutableMoment): void {
  const { memory, settings, gridS } = work
  const { places, pump, log } = memory
  moment.atS = gridS
  moment.settings = settings
  moment.fresh = work.fresh
  moment.latest.return = places.return.latest
  moment.latest.supply = places.supply.latest
  moment.latest.ambient = places.ambient.latest
  moment.latest.engine = places.engine.latest
  moment.heardAtS = memory.heardAtS
  moment.gapMaxS = gapMaxS(memory.spacing, settings.reportEveryS)
  moment.spacingS = ordinarySpacingS(memory.spacing, settings.reportEveryS)
  moment.isGap = memory.inGap
  moment.suspended = suspension(log, gridS)
  moment.offSinceS = log.offSinceS
  moment.offRuns = log.offWatch
  moment.isAway = log.awayUntilS !== null && gridS < log.awayUntilS
  moment.isFloorCheck = log.floorCheck !== null
  moment.isLoopTest = log.loopTest !== null
  moment.preheatAtS = log.preheatAtS
  moment.flightAtS = log.flightAtS
  moment.driedAtS = memory.gate.driedAtS
  moment.stoppedAtS = memory.lastStopS
  moment.sinceFlightG = settings.flowLPerMin === null ? null : memory.beads.uptake.sinceFlightG
  moment.wettedAtS = latest(latest(log.flightAtS, memory.gate.wettedAtS), memory.unhooked.lastAtS)
  moment.unansweredFlightAtS = log.unansweredFlightAtS
  moment.unhookedAtS = memory.unhooked.sinceS
  moment.offMinBefore = log.offEndedAtS !== null && gridS - log.offEndedAtS <= OFF_EXPLAINS_S ? log.offMin : 0
  moment.backAtS = log.offEndedAtS
  moment.pump.state = pump.state
  moment.pump.basis = pump.basis
  moment.pump.sinceS = pump.sinceS
  moment.isRunSprung = memory.unhooked.isSprung
  moment.closed = work.closed
  moment.ended = work.ended
  moment.floorCheckPct = work.floorCheckPct
}

/** The air of the hangar and the metal in it. */
function writeAir(work: Work, moment: MutableMoment): void {
  const { memory, settings, gridS } = work
  const ambient = ambientAt(memory, settings, gridS)
  const { coldestC } = memory.metal
  moment.ambientGm3 = ambient.densityGm3
  moment.ambientPct = ambient.humidityPct
  moment.ambientTempC = ambient.tempC
  moment.isAmbientMeasured = ambient.isMeasured
  moment.metalTempC = memory.metal.tempC
  moment.coldestMetalTempC = coldestC
  moment.metalPct = metalPct(work, coldestC)
}

/** What the rig's own runs have taught. */
function writeKnowledge(work: Work, moment: MutableMoment): void {
  const { memory, settings, gridS } = work
  const { gate, noise } = memory
  const tempC = memory.places.return.latest?.tempC ?? stoodInTempC(memory, settings, gridS)
  moment.pumpPowerW = usualPowerW(memory.pump)
  moment.lastRunAtS = memory.lastRunAtS
  moment.sensor.sigmaPct = sigmaPct(noise)
  moment.sensor.stepPct = stepPct(noise)
  moment.sensor.stuckShare = equalShare(noise)
  const { wetGate } = moment
  wetGate.isOpen = gate.isOpen
  wetGate.isProven = gate.isProven
  wetGate.isTimedOut = gate.isTimedOut
  wetGate.isStagnant = gate.isTimedOut && gate.saturatedFromS !== null
  wetGate.openedAtS = gate.openedAtS
  wetGate.movedG = gate.isOpen && settings.flowLPerMin !== null ? gate.movedG : null
  wetGate.budgetG = waterBudgetG(gate)
  wetGate.expectedH = gate.isOpen ? expectedH(work) : null
  moment.floorGm3 = floorAt(memory, tempC)
  moment.lambdaRefPerH = referencePerH(memory.ingress, daysSinceFlight(memory, gridS))
  moment.runTimeRatio = memory.runTime.ratio
  moment.runTimeRatioLnSd = memory.runTime.ratioLnSd
  const { fill } = memory.beads
  const isWithheld = isSwapAsked(memory)
  moment.forecast = isWithheld ? null : (fill?.forecast ?? null)
  moment.beadsOdds = isWithheld ? null : (fill?.odds ?? null)
  moment.fillFromS = fill !== null && fill.isKnown ? fill.fromS : null
  if (!work.isRigNew) return
  work.isRigNew = false
  moment.reportLagS = reportLagS(memory.switching)
  moment.switchStartPct = startPointPct(memory.switching, settings.band.startPct)
  moment.switchStopPct = stopPointPct(memory.switching, settings.band.stopPct)
  moment.kPerH = rigRate(memory.drying, exchangesPerH(settings))
}

/** Writes what the rules may know at the grid time of `work` into its moment. */
export function momentOf(work: Work): Moment {
  const { moment } = work
  writeSeen(work, moment)
  writeAir(work, moment)
  writeKnowledge(work, moment)
  return moment
}
