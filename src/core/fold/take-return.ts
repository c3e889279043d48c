import type { PumpBasis } from './outputs.ts'
import type { Sample } from '../rules/rule.ts'
import { breakNoise, sigmaPct, stepPct } from '../trace/noise.ts'
import { forgetInferred, inferPump, toldOn } from '../trace/pump.ts'
import { type RunMemory, marksOf, takeRunPoint } from '../trace/run.ts'
import { isRestedWet } from './started-by-hand.ts'
import { passedPct, surelyOnPct, takeLag, takeStartPoint } from '../trace/switching.ts'
import { endUnhooked, restFromRun, settleUnhooked } from '../trace/unhooked.ts'
import {
  endEligible,
  makeEligible,
  noticeEngineRun,
  resumeGateRun,
  startGateRun,
  takeGatePoint,
} from '../trace/wet-gate.ts'
import { ambientAt } from './ambient.ts'
import { emitWaiting, finishRun, takeEngineAir, waitForAir } from './close-run.ts'
import { answerFlight } from './answer-flight.ts'
import { gatePoint } from './gate-point.ts'
import { moveAir } from './ledger.ts'
import { takeLongRun } from './long-run.ts'
import { isFollowed, isSensorElsewhere, isTracked } from './log-memory.ts'
import { newRun } from './new-run.ts'
import { runPoint } from './run-point.ts'
import { hiddenSinceS } from './shown-since.ts'
import { noticeCreeping, noticePassing, noticeSpring, noticeUnhooking } from './notice-unhooking.ts'
import { isAfterUnseenRun, takeUnseenRun } from './unseen-run.ts'
import type { Work } from './work.ts'

/** The onset of a surge is looked for this far before the reported edge, s: outlets report up to 15 minutes late. */
const ONSET_MAX_S = 1200
/** Readings nearer to each other than this are not kept for it, s: a hub may report every second. */
const TRAIL_EVERY_S = 30
/** A rise between two readings that only moving air makes, % RH, or five sigma. */
const ONSET_MIN_PCT = 1.5

/** Mean of the last twenty minutes with a reading of now, % RH. */
function standsAtPct(trail: Work['memory']['trail'], atS: number, humidityPct: number): number {
  let sum = humidityPct
  let count = 1
  for (const [readAtS, pct] of trail) {
    if (readAtS < atS - ONSET_MAX_S) continue
    sum += pct
    count += 1
  }
  return sum / count
}

/** From where on a reading has surely started the pump, % RH. Not looked up for the many readings that are below any start. */
function sureStartPct({ memory, settings }: Work, atS: number, humidityPct: number): number {
  const { startPct } = settings.band
  if (humidityPct < startPct) return Number.POSITIVE_INFINITY
  const at = { startPct, tolPct: settings.switchTolPct, sigmaPct: sigmaPct(memory.noise) }
  const hasStood = standsAtPct(memory.trail, atS, humidityPct) >= surelyOnPct(memory.switching, at)
  return hasStood ? startPct : passedPct(at)
}

function commanded(
  work: Work,
  sample: Sample,
): { state: 'run' | 'rest' | 'unknown'; basis: PumpBasis; edgeS: number } {
  const { memory, settings } = work
  const { pump } = memory
  let edgeS = sample.atS
  if (isSensorElsewhere(memory.log, sample.atS)) {
    forgetInferred(pump)
  } else if (sample.place === 'return' && sample.humidityPct !== null) {
    const turnedAtS = inferPump(pump, {
      atS: sample.atS,
      humidityPct: sample.humidityPct,
      startPct: settings.band.startPct,
      surelyOnPct: sureStartPct(work, sample.atS, sample.humidityPct),
      stopPct: settings.band.stopPct,
      sigmaPct: sigmaPct(memory.noise),
      stepPct: stepPct(memory.noise),
      densityGm3: sample.tempC === null ? null : sample.densityGm3,
    })
    edgeS = turnedAtS ?? edgeS
  }
  const isOn = toldOn(pump)
  if (isOn !== null) {
    const basis = pump.reported === null ? 'power' : 'reported'
    return { state: isOn ? 'run' : 'rest', basis, edgeS: sample.atS }
  }
  return { state: pump.inferred, basis: 'inferred', edgeS }
}

/**
 * The first reading of this rest that rose as only moving air makes it rise, s; `atS` if none of the last twenty minutes did.
 * A pump that was off for a few minutes has the surge of its last run in those, which is counted.
 */
function surgeOnsetS(work: Work, atS: number): number {
  const { trail, noise, pump } = work.memory
  const restsSinceS = pump.sinceS ?? 0
  const risePct = Math.max(ONSET_MIN_PCT, 5 * sigmaPct(noise), 2 * stepPct(noise))
  for (let index = 1; index < trail.length; index++) {
    const before = trail[index - 1]
    const point = trail[index]
    if (before === undefined || point === undefined) continue
    if (point[0] < atS - ONSET_MAX_S || point[0] <= restsSinceS) continue
    if (point[1] - before[1] >= risePct) return point[0]
  }
  return atS
}

/** A box of 2 L is swept in two minutes, and the sensor is slower: in so long a surge has come and been seen, s. */
const SURGE_S = 600

/** The least of the readings up to `atS` that the surge of a run may have begun with, % RH. */
function driestPct(trail: Work['memory']['trail'], atS: number): number {
  const before = trail.filter(([readAtS]) => readAtS <= atS && readAtS >= atS - SURGE_S)
  return Math.min(...before.map(([, humidityPct]) => humidityPct))
}

function beginRun(work: Work, sample: Sample, basis: PumpBasis, isSeen: boolean, edgeS: number): void {
  const { memory } = work
  const { pump, trail } = memory
  const fromS = isSeen ? Math.min(edgeS, surgeOnsetS(work, sample.atS)) : sample.atS
  if (isSeen && basis !== 'inferred') takeLag(memory.switching, sample.atS - fromS)
  let last: [number, number, number] | null = null
  for (const point of trail) if (point[0] < fromS) last = point
  work.isRigNew = true
  pump.state = 'run'
  pump.sinceS = fromS
  // A gap hooks no rig up: air that was let in by hands and is still over the limit after it is what it was.
  if (isSeen || !memory.unhooked.isGuess) endUnhooked(memory.unhooked)
  if (basis === 'inferred' && isSeen) noticePassing(work)
  pump.basis = basis
  const { lastRunAtS } = memory
  if (isSeen) noticeSpring(work, sample, basis)
  memory.lastRunAtS = sample.atS
  memory.log.powerOffSinceS = null
  if (!isFollowed(memory.log, sample.atS, basis === 'inferred')) return
  // Where only the air tells, a run begins when a hub shows it: the fall may have begun behind a value shown before.
  const shownSinceS =
    basis === 'inferred' && last !== null ? hiddenSinceS(trail, last, stepPct(memory.noise)) : fromS
  const run = newRun(work, {
    fromS,
    basis,
    startPct: last?.[1] ?? null,
    startGm3: last?.[2] ?? null,
    shownSinceS,
  })
  if (basis !== 'inferred') run.toldFromS = sample.atS
  waitForAir(work, isSeen)
  memory.run = run
  if (basis !== 'inferred' && isRestedWet(trail, { atS: sample.atS, lastRunAtS }, work.settings.band))
    makeEligible(memory.gate, fromS)
  startGateRun(memory.gate, last?.[1] ?? null, fromS)
  // Where only the air tells, a surge or a fall shows that it was started, and its surge may have passed the limit before it was
  // one: it is what was before that. A run that begins where starts were learned teaches none.
  const isShown = basis !== 'inferred' || fromS < sample.atS
  if (isSeen && last !== null && isShown) {
    const startPct = basis === 'inferred' ? driestPct(trail, last[0]) : last[1]
    takeStartPoint(memory.switching, startPct, work.settings.band)
  }
  takeLate(work, run, sample)
  breakNoise(memory.noise)
}

/** Readings between the onset and the late report already belong to the run. Any place may have reported it. */
function takeLate(work: Work, run: RunMemory, sample: Sample): void {
  const { trail, places } = work.memory
  const isReturn = sample.place === 'return'
  const { tempC } = isReturn ? sample : (places.return.latest ?? sample)
  let before: { atS: number; densityGm3: number } | null = null
  for (const [atS, humidityPct, densityGm3] of trail) {
    if (atS < run.fromS) continue
    const late: Sample = { ...sample, place: 'return', tempC, atS, humidityPct, densityGm3 }
    if (before !== null) moveAir(work, before, late)
    addPoint(work, run, late)
    before = { atS, densityGm3 }
  }
  // From there on the next return reading counts, where this is none.
  if (isReturn && before !== null && sample.atS > before.atS) moveAir(work, before, sample)
}

/** The pump kept running through a flight, a hook-up or a check: what follows is a run whose start was not seen. */
function resumeRun(work: Work, sample: Sample): RunMemory {
  const { memory } = work
  const { basis } = memory.pump
  const run = newRun(work, { fromS: sample.atS, basis, startPct: null, startGm3: null })
  memory.pump.sinceS = sample.atS
  memory.unhooked.isSprung = false
  memory.run = run
  // After a gap nothing is known of what was before: no rise, and no time for one to show.
  if (memory.gate.lowPct !== null) resumeGateRun(memory.gate, memory.gate.lowPct, sample.atS)
  work.isRigNew = true
  return run
}

function endRun(work: Work, sample: Sample, basis: PumpBasis, edgeS: number): void {
  const { memory } = work
  const { run, pump } = memory
  work.isRigNew = true
  pump.state = 'rest'
  pump.sinceS = edgeS
  pump.basis = basis
  if (run === null) return
  restFromRun(memory.unhooked, memory.trail)
  // The reading that shows the pump off was taken at the switch or just after it: the air at the sensor is the run's.
  const isClose =
    sample.place === 'return' && sample.humidityPct !== null && sample.humidityPct <= (run.lastPct ?? 101)
  if (isClose) addPoint(work, run, sample)
  // A bench teaches nothing of the engine.
  if (memory.log.offSinceS === null) finishRun(work, run, edgeS)
  memory.run = null
  breakNoise(memory.noise)
}

/** Decides what the pump does after a report or a reading, and starts or ends the run. */
export function decidePump(work: Work, sample: Sample): void {
  const { memory } = work
  const { pump } = memory
  const { state, basis, edgeS } = commanded(work, sample)
  pump.basis = basis
  if (state === pump.state) return
  const isSeen = pump.state !== 'unknown'
  if (state === 'run') {
    beginRun(work, sample, basis, isSeen, edgeS)
  } else if (state === 'rest' && pump.state === 'run') {
    endRun(work, sample, basis, edgeS)
  } else {
    pump.state = state
    pump.sinceS = sample.atS
  }
}

/** A gap, a suspension or a change of the rig lies in the cycle: it does not count, and a run in it is over. */
export function breakCycle(work: Work): void {
  const { memory } = work
  emitWaiting(work)
  memory.run = null
  memory.finished = null
}

function addPoint(work: Work, run: RunMemory, sample: Sample): void {
  const { memory } = work
  const point = runPoint(work, sample)
  if (point === null) return
  if (point.atS < run.lastAtS || (point.atS === run.lastAtS && run.lastPct !== null)) return
  const wasOpen = memory.gate.isOpen
  const gateSees = gatePoint(work, run, sample, point)
  takeGatePoint(memory.gate, gateSees)
  // Air that an engine has, or that leapt after a landing: the rig is back on it.
  if (memory.gate.isOpen && !wasOpen) endUnhooked(memory.unhooked)
  work.movedG = null
  takeRunPoint(run, point, marksOf(work.settings.band), memory.gate.isOpen)
  answerFlight(work, run, sample, gateSees)
  // On a bench it is no engine's air.
  if (memory.log.offSinceS !== null) return
  takeEngineAir(work, run, point)
  takeLongRun(work, run, point)
}

/**
 * A crankcase so hot belongs to an engine that runs, degC: its oil is at 80 to 100, while neither the sun on a cowling nor a
 * preheater brings it to more than 50.
 */
const ENGINE_RUNS_C = 60

/** Takes a reading of the return air with a humidity: into the run, or into the rest. */
export function takeReturn(work: Work, sample: Sample): void {
  const { memory } = work
  const { pump, trail } = memory
  if (work.settings.sensorSits === 'engine' && sample.tempC !== null && sample.tempC >= ENGINE_RUNS_C)
    noticeEngineRun(memory.gate, sample.atS)
  if (sample.humidityPct === null || sample.densityGm3 === null) return
  const isOff = !isTracked(memory.log, sample.atS)
  if (isOff) endUnhooked(memory.unhooked)
  if (isOff && !isFollowed(memory.log, sample.atS, pump.basis === 'inferred')) {
    trail.length = 0
    return
  }
  if (pump.state === 'run') {
    memory.lastRunAtS = sample.atS
    const point = { atS: sample.atS, humidityPct: sample.humidityPct }
    settleUnhooked(memory.unhooked, point, work.settings.band.startPct, memory.log.flightAtS !== null)
    const run = memory.run ?? resumeRun(work, sample)
    if (run.basis === 'inferred') noticeCreeping(work, run, sample)
    addPoint(work, run, sample)
  } else if (isOff) {
    if (sample.tempC !== null) memory.restTempC = sample.tempC
  } else {
    if (sample.tempC !== null) memory.restTempC = sample.tempC
    const ambient = ambientAt(memory, work.settings, sample.atS)
    if (memory.finished !== null) {
      memory.finished.ambientSumGm3 += ambient.densityGm3
      memory.finished.ambientCount += 1
    }
    if (noticeUnhooking(work, sample, ambient)) breakCycle(work)
    if (isAfterUnseenRun(work, { atS: sample.atS, humidityPct: sample.humidityPct })) endEligible(memory.gate)
    if (pump.basis === 'inferred' && pump.state === 'rest') takeUnseenRun(work, sample)
  }
  if (sample.atS - (trail.at(-1)?.[0] ?? 0) >= TRAIL_EVERY_S)
    trail.push([sample.atS, sample.humidityPct, sample.densityGm3])
  // One reading from before stays: what rose later rose from that.
  while ((trail[1]?.[0] ?? sample.atS) < sample.atS - ONSET_MAX_S) trail.shift()
}
