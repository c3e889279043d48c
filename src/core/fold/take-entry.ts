import { forgetOpen, makeEligible } from '../trace/wet-gate.ts'
import { startNoise } from '../trace/noise.ts'
import { startFloorTrend } from '../trace/floor-trend.ts'
import { startFillRunTime } from '../trace/run-time.ts'
import { startSwitching } from '../trace/switching.ts'
import { anchorFill, learnHolds } from './anchor-fill.ts'
import { takeFlightUptake } from '../beads/uptake.ts'
import { forgetEvidence } from '../beads/ensemble-evidence.ts'
import { startLine } from '../stats/line-fit.ts'
import type { FillMemory } from './fill-memory.ts'
import { detailNumber } from './detail.ts'
import { accountFlight } from './exposure.ts'
import { dropHeldAir } from './ledger.ts'
import { flushAir } from './fill-air.ts'
import { takeBake, weighColumns } from './fill.ts'
import { takeGross } from './gross.ts'
import { learnPath, weighMembers } from './step-forecast.ts'
import { endOff, startFloorCheck, startOffWatch } from './log-memory.ts'
import { startSensor } from './sensor-memory.ts'
import { cutSaltCheck, endChecks, restartBeadChecks, restartChecks } from './step-log.ts'
import type { LogEntry } from './inputs.ts'
import { readTimestamp } from '../ingest/instant.ts'
import { breakCycle } from './take-return.ts'
import type { Work } from './work.ts'

/** A floor check, salt check or loop test without an end lasts this long, s. */
const FLOOR_CHECK_S = 4 * 3600
const SALT_CHECK_S = 12 * 3600
const LOOP_TEST_S = 15 * 60
/** No check lasts longer, s: a mistyped year must not silence a rig. */
const SPAN_MAX_S = 14 * 86_400
/** Flight hours where the entry does not say, h (common practice, no published source). */
const FLIGHT_H = 1

function untilS(entry: LogEntry, otherwiseS: number): number {
  const until = entry.detail['until']
  const end = readTimestamp(until?.trim() ?? '')
  const endS = end.kind === 'instant' ? end.atS : null
  if (endS === null || endS <= entry.atS) return entry.atS + otherwiseS
  return Math.min(endS, entry.atS + SPAN_MAX_S)
}

function takeFlight(work: Work, entry: LogEntry): void {
  const { memory } = work
  const hours = Math.max(0, detailNumber(entry, 'hours') ?? FLIGHT_H)
  accountFlight(memory.exposure, entry.atS, hours * 3600)
  memory.log.flightAtS = entry.atS
  memory.log.unansweredFlightAtS = entry.atS
  memory.log.wetterFromS = null
  memory.log.offWatch = startOffWatch()
  memory.log.flights += 1
  memory.engineAir = null
  dropHeldAir(work)
  takeFlightUptake(memory.beads.uptake, entry.atS)
  if (memory.beads.fill !== null) memory.beads.fill.flights += 1
  memory.beads.forecastDay = 0
  makeEligible(memory.gate, entry.atS)
  breakCycle(work)
}

function takeOn(work: Work, entry: LogEntry): void {
  const { memory } = work
  const { offSinceS } = memory.log
  // Air that was taken for a wet engine's while nobody knew whether the rig was back: it comes now, or it was the bench's.
  if (offSinceS !== null && (memory.gate.openedAtS ?? 0) >= offSinceS) forgetOpen(memory.gate)
  endOff(memory.log, entry.atS)
  dropHeldAir(work)
  memory.log.onAtS = entry.atS
  // Until now the box had the hangar's air.
  makeEligible(memory.gate, entry.atS, memory.places.return.latest)
  breakCycle(work)
}

function startSaltCheck(work: Work, entry: LogEntry): void {
  cutSaltCheck(work, entry.atS)
  breakCycle(work)
  work.memory.log.saltCheck = {
    fromS: entry.atS,
    untilS: untilS(entry, SALT_CHECK_S),
    salt: entry.detail['salt'] ?? '',
    shownPct: detailNumber(entry, 'shownPct'),
    tempC: detailNumber(entry, 'tempC'),
    last: [],
  }
}

/** A floor that another sensor read is no rise or fall from the last one's. */
function forgetFloors(fill: FillMemory): void {
  fill.floors = startFloorTrend()
  fill.floorOnAmbient = startLine()
  fill.freshFloorPct = 0
  fill.freshCount = 0
  if (fill.ensemble !== null) forgetEvidence(fill.ensemble, 'floor')
}

/** Another sensor reads otherwise: its correction, noise, switching points and floor are learned anew, and no cycle has both. */
function replaceSensor(work: Work, atS: number): void {
  const { memory } = work
  breakCycle(work)
  restartChecks(work, atS)
  dropHeldAir(work)
  memory.air = null
  memory.trail.length = 0
  memory.sensor = startSensor()
  memory.noise = startNoise()
  memory.switching = startSwitching()
  memory.floor = { meanPct: 0, variance: 0, runs: 0 }
  startFillRunTime(memory.runTime, atS)
  if (memory.beads.fill !== null) forgetFloors(memory.beads.fill)
  work.isRigNew = true
}

/** The fill in the column ends with what it has taught, a fresh one begins. */
function changeBeads(work: Work, entry: LogEntry): void {
  flushAir(work)
  weighMembers(work, true)
  weighColumns(work, entry)
  learnPath(work)
  learnHolds(work)
  takeBake(work, entry)
  anchorFill(work)
  // Air that may have been none, and a run: of the beads before. Their floor and time are no measure of these.
  dropHeldAir(work)
  if (work.memory.run !== null) breakCycle(work)
  // A floor check that has just ended was of the beads before.
  work.floorCheckPct = null
  restartBeadChecks(work, entry.atS)
}

/** Takes a line of the logbook. Unknown kinds and names are kept by the caller and do nothing here. */
export function takeEntry(work: Work, entry: LogEntry): void {
  const { memory } = work
  const { log } = memory
  endChecks(work, entry.atS)
  switch (entry.what) {
    case 'flight':
      takeFlight(work, entry)
      return
    case 'on':
      takeOn(work, entry)
      return
    case 'off':
      if (log.offSinceS === null) log.offWatch = startOffWatch()
      log.offSinceS ??= entry.atS
      breakCycle(work)
      return
    case 'power-off':
      log.powerOffSinceS ??= entry.atS
      breakCycle(work)
      return
    case 'away':
      log.awayUntilS = untilS(entry, 30 * 86_400)
      return
    case 'preheat':
      log.preheatAtS = entry.atS
      makeEligible(memory.gate, entry.atS)
      return
    case 'salt-check':
      startSaltCheck(work, entry)
      return
    case 'floor-check':
      log.floorCheck = startFloorCheck(entry.atS, untilS(entry, FLOOR_CHECK_S))
      return
    case 'loop-test':
      breakCycle(work)
      log.loopTest = { fromS: entry.atS, untilS: untilS(entry, LOOP_TEST_S), lastPct: null }
      return
    case 'bake':
    case 'beads':
      changeBeads(work, entry)
      return
    case 'weighing':
      takeGross(work, entry)
      return
    case 'sensor':
      if (entry.detail['change'] === 'replaced') replaceSensor(work, entry.atS)
      return
    default:
  }
}
