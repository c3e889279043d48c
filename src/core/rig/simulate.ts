import { humidityPctOfDensity } from '../air/vapour.ts'
import type { LogEntry, Reading } from '../fold/inputs.ts'
import { parseTimeS } from '../rfc3339.ts'
import { saltNamed, saltPoint } from '../sensor/salt-points.ts'
import { type Hookup, STEP_S, stepAir } from './air-step.ts'
import { exitDensityGm3, postReadings } from './hub.ts'
import { commandOutlet, readSensor, stepSensor, switchOutlet } from './outlet.ts'
import type { Bake, Fault, FaultKind, Flight, RigPlan } from './plan.ts'
import { nextNormal } from './random.ts'
import { type RigState, bakedLoadingKgKg } from './state.ts'
import { type Weather, stepWeather, weatherAt } from './weather.ts'

/** Where the outputs of a stretch are collected. */
export type RigOutput = { readonly readings: Reading[]; readonly log: LogEntry[] }

/** What nobody can see from outside. */
export type RigTruth = {
  readonly atS: number
  /** Taken up by the beads since their last bake, g. */
  readonly takenUpG: number
  /** Hangar air that the joined loop has taken in since the start, L. */
  readonly intakeL: number
  /** Exit air of the column, % RH at the column's temperature. */
  readonly exitPct: number
  readonly enginePct: number
  readonly engineC: number
  readonly liquidG: number
  readonly oilG: number
  readonly runs: number
  readonly pumpMin: number
  readonly isOn: boolean
}

/** The truth at the state's time. */
export function truthOf(plan: RigPlan, state: RigState): RigTruth {
  const engineC = state.metalC + state.heatK
  return {
    atS: state.atS,
    takenUpG: state.takenUpG,
    intakeL: state.intakeL,
    exitPct: humidityPctOfDensity(exitDensityGm3(plan, state), state.bedC),
    enginePct: humidityPctOfDensity((1000 * state.engineG) / plan.volumeL, engineC),
    engineC,
    liquidG: state.liquidG,
    oilG: state.oilG,
    runs: state.runs,
    pumpMin: state.pumpMin,
    isOn: state.isOn,
  }
}

/** The fault of a kind that holds now, if any. */
function faultNow(plan: RigPlan, kind: FaultKind, atS: number): Fault | null {
  return plan.faults.find((fault) => fault.kind === kind && atS >= fault.fromS && atS < fault.untilS) ?? null
}

/** The flight for which the rig is off the engine now, if any. */
function flightNow(plan: RigPlan, atS: number): Flight | null {
  return plan.flights.find((flight) => atS >= flight.offS && atS < flight.onS) ?? null
}

/** The log entry of a kind whose span (`until`) holds now, if any. */
function spanNow(plan: RigPlan, what: string, atS: number): LogEntry | null {
  return plan.log.find((entry) => entry.what === what && atS >= entry.atS && atS < untilOf(entry)) ?? null
}

/** End of an entry's span, s; its start if it has none. */
function untilOf(entry: LogEntry): number {
  return parseTimeS(entry.detail['until'] ?? '') ?? entry.atS
}

/** Exchange through an open breather tube, L/h. */
const OPEN_BREATHER_L_H = 1

function hookupNow(plan: RigPlan, state: RigState, flight: Flight | null): Hookup {
  const { atS } = state
  const is = (kind: FaultKind) => faultNow(plan, kind, atS)
  const leak = is('leak')
  const leakLPerH = leak === null ? 0 : (leak.size - 1) * state.intakeLPerH
  const capLPerH = is('cap-off')?.size ?? 0
  const isMoving = state.isOn && flight === null && is('pump-dead') === null
  return {
    flowLPerMin: isMoving ? plan.flowLPerMin : 0,
    isPumpPowered: state.isOn && is('pump-dead')?.size !== 1,
    // Without the rig the breather is open: a long tube, through which little goes. The hoses lie in the hangar's air.
    engineLeakLPerH: plan.leaks.engineLPerH + leakLPerH + (flight === null ? capLPerH : OPEN_BREATHER_L_H),
    isLeaking: leak !== null,
    boxLeakLPerH: flight === null ? plan.leaks.boxLPerH : plan.openHosesPerH * plan.boxL,
    suctionShare: is('suction-leak')?.size ?? plan.leaks.suctionShare,
    boxDraws: is('return-off') === null ? 'engine' : 'hangar',
    beadsFeed: is('supply-off') === null ? 'engine' : 'hangar',
    isJoined: flight === null,
  }
}

/** Landing: a hot engine, water in it, and what the owner writes down. */
function land(plan: RigPlan, state: RigState, flight: Flight, out: RigOutput): void {
  state.heatK = flight.heatK
  // Oil gives up most of its water in a hot engine; the flight's own remains.
  const driedG = 0.7 * state.oilG
  state.oilG -= driedG
  state.fromHangarG -= driedG
  state.liquidG += flight.waterG
  state.fromFlightsG += flight.waterG
  if (!flight.isLogged) return
  out.log.push({
    atS: state.atS,
    what: 'flight',
    detail: { hours: ((flight.landS - flight.offS) / 3600).toFixed(1) },
  })
}

function bake(plan: RigPlan, state: RigState, entry: Omit<Bake, 'atS'>, out: RigOutput): void {
  const fresh = bakedLoadingKgKg(plan, entry.tempC)
  const cellMassG = plan.beads.massG / plan.beads.cells
  const beforeG = state.cells.reduce((sum, loading) => sum + loading, 0) * cellMassG
  // A bake never adds water: beads drier than its residual stay as they are.
  state.cells = state.cells.map((loading) => Math.min(loading, fresh))
  const afterG = state.cells.reduce((sum, loading) => sum + loading, 0) * cellMassG
  state.bakedOutG += beforeG - afterG
  state.takenUpG = 0
  if (!entry.isLogged) return
  // A kitchen scale: jar and beads together, to the gram, with a few grams of error.
  const weigh = (waterG: number) =>
    String(Math.round(plan.beads.massG + 350 + waterG + 1.5 * nextNormal(state.random)))
  const weights = entry.isWeighed ? { beforeG: weigh(beforeG), afterG: weigh(afterG) } : {}
  out.log.push({
    atS: state.atS,
    what: 'bake',
    detail: { tempC: String(entry.tempC), hours: '3', jar: plan.beads.jar, ...weights },
  })
}

/** Whether a time lies in the step that ends now. */
function isNow(state: RigState, timeS: number): boolean {
  return timeS > state.atS - STEP_S && timeS <= state.atS
}

/** Everything that happens at an instant: landings, hooking up, bakes, entries. */
function happen(plan: RigPlan, state: RigState, out: RigOutput): void {
  for (const flight of plan.flights) {
    if (flight.isRigLogged && isNow(state, flight.offS))
      out.log.push({ atS: state.atS, what: 'off', detail: {} })
    if (isNow(state, flight.landS)) land(plan, state, flight, out)
    if (flight.isRigLogged && isNow(state, flight.onS))
      out.log.push({ atS: state.atS, what: 'on', detail: {} })
  }
  for (const entry of plan.bakes) if (isNow(state, entry.atS)) bake(plan, state, entry, out)
  for (const entry of plan.log) if (isNow(state, entry.atS)) out.log.push(entry)
  const { bakeAtExitPct, bakeC, isBakeLogged, isWeighed } = plan.beads
  // Looked at once a day, in the afternoon.
  if (bakeAtExitPct === null || state.atS % 86_400 !== 16 * 3600) return
  if (truthOf(plan, state).exitPct < bakeAtExitPct) return
  bake(plan, state, { tempC: bakeC, isLogged: isBakeLogged, isWeighed }, out)
}

/** Sensor, outlet and hub at the end of a step. */
function control(
  plan: RigPlan,
  state: RigState,
  weather: Weather,
  flight: Flight | null,
  out: RigOutput,
): void {
  const { atS } = state
  const salt = spanNow(plan, 'salt-check', atS)
  const name = salt === null ? null : saltNamed(salt.detail['salt'] ?? '')
  stepSensor(plan, state, name === null ? null : (saltPoint(name, 20)?.humidityPct ?? null))
  const isFrozen = faultNow(plan, 'frozen', atS) !== null
  const livePct = readSensor(plan, state, faultNow(plan, 'shift', atS)?.size ?? 0)
  if (!isFrozen) state.frozenPct = null
  else state.frozenPct ??= livePct
  const shownPct = state.frozenPct ?? livePct
  commandOutlet(plan, state, shownPct)
  const isKeptOn = spanNow(plan, 'floor-check', atS) !== null || faultNow(plan, 'stuck-on', atS) !== null
  const isKeptOff = flight !== null || salt !== null || faultNow(plan, 'stuck-off', atS) !== null
  switchOutlet(state, !isKeptOff && (state.isCommanded || isKeptOn))
  const hasOpenCoil = faultNow(plan, 'pump-dead', atS)?.size === 1
  const powerW = state.isOn
    ? plan.pump.powerW * (hasOpenCoil ? 0.05 : 1 + 0.03 * nextNormal(state.random))
    : 0.2
  state.energyWh += (powerW * STEP_S) / 3600
  if (state.isOn) state.pumpMin += STEP_S / 60
  const isSilent = flight?.hub === 'silent' || faultNow(plan, 'silent', atS) !== null
  if (!isSilent) postReadings(plan, state, { weather, shownPct, powerW }, out.readings)
}

/** The hangar's air changes slowly: once in five minutes is enough, on a grid so that pieces agree with the whole. */
const WEATHER_STEP_S = 300

/**
 * Runs a rig on to `untilS` (steps of 60 s from the plan's start), and adds what its hub posts and its owner writes to
 * `out`. Changes `state`; the same plan and state give the same result, in one piece or in many.
 */
export function advanceRig(plan: RigPlan, state: RigState, untilS: number, out: RigOutput): void {
  let weather: Weather | null = null
  while (state.atS + STEP_S <= untilS) {
    state.atS += STEP_S
    const intoS = state.atS % WEATHER_STEP_S
    if (state.atS % 3600 < STEP_S) stepWeather(state.weather, state.random, plan.climate)
    if (weather === null || intoS < STEP_S)
      weather = weatherAt(state.atS - intoS, plan.climate, state.weather)
    const flight = flightNow(plan, state.atS)
    state.isHookedUp = flight === null
    happen(plan, state, out)
    stepAir(plan, state, weather, hookupNow(plan, state, flight))
    control(plan, state, weather, flight, out)
  }
}
