import type { Evidence, OpenAlert } from '../fold/outputs.ts'
import { floorHighPct, isMaybeOff, isMaybeTakenOff, isPreheated, slowestPerH } from './drying.ts'
import { type Drop, type Shares, dropError, dropShares, isBelowReach, isMovedAir } from './drying-drop.ts'
import {
  type NoDropMemory,
  begin,
  follow,
  forget,
  pause,
  refer,
  referenceOf,
  start,
  suspend,
} from './no-drop-run.ts'
import {
  STANDS_SHARE,
  STILL_HIGH_PCT,
  hasStopped,
  isDrierThanYesterday,
  isMovedSince,
  isTailing,
  isWetWithin,
  knownWaitS,
  learnOutlasting,
} from './no-drop-water.ts'
import { takePumpPower } from './pump-power.ts'
import type { Moment, Rule, Sample, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { consequent } from './urgency.ts'

const HOUR_S = 3600

/** Nothing is said of less than an hour of drying: engine air, box and sensor are still coming together. */
const WAIT_MIN_H = 1
/** Over above a half of the way, out of two errors' reach. */
const DROP_OVER = 1 / 2
/** Means of so long and so many readings are judged, two in a row. */
const BLOCK_S = 900
const BLOCK_READINGS = 2
const BLOCKS_IN_A_ROW = 2

/**
 * A run that came out of a plateau by drying, or one of the day after a flight, still has the last gram to dry from
 * few places and an engine that cools: three time constants of the slowest drying, and three hours at least.
 */
const WET_TIME_CONSTANTS = 3
const WET_HOURS_MIN = 3
const FLIGHT_DAY_S = 86_400

/** `null` where the run's first hour was not followed. */
function surgeOf({ firstPct, topPct }: NoDropMemory): number | null {
  return firstPct === null || topPct < firstPct ? null : topPct - firstPct
}

function evidenceOf(memory: NoDropMemory, moment: Moment, now: Sample, drop: Drop | null): Evidence {
  return {
    by: drop === null ? 'power' : 'drop',
    runFromS: memory.runFromS,
    pumpBasis: moment.pump.basis,
    fromAtS: memory.refAtS,
    fromPct: memory.refPct,
    nowAtS: now.atS,
    nowPct: now.humidityPct,
    tempC: now.tempC,
    floorPct: floorHighPct(moment),
    dropShare: drop?.share ?? null,
    surgePct: surgeOf(memory),
    isFlat: memory.isFlat,
    powerW: now.powerW,
    usualPowerW: moment.pumpPowerW,
  }
}

/** Metered power while the outlet is on; `null` while it says nothing new. */
function judgePower(
  memory: NoDropMemory,
  moment: Moment,
  sample: Sample,
  open: OpenAlert | null,
): Verdict | null {
  const usual = { powerW: moment.pumpPowerW, reportLagS: moment.reportLagS }
  const power = takePumpPower(memory, sample, usual)
  if (power === 'odd') {
    const evidence = evidenceOf(memory, moment, sample, null)
    return consequent(moment, open, { sinceS: memory.powerSinceS ?? sample.atS, evidence })
  }
  if (power !== 'normal' || open?.evidence['by'] !== 'power') return null
  return { kind: 'clear', evidence: { endedBy: 'power', powerW: sample.powerW } }
}

/** The mean drop of a block of readings that has just filled up; `null` in between. */
function takeBlock(memory: NoDropMemory, moment: Moment, sample: Sample, shares: Shares): Drop | null {
  if (memory.blockCount === 0) {
    memory.blockFromS = sample.atS
    memory.blockSum = 0
    memory.blockMostSum = 0
  }
  memory.blockCount += 1
  memory.blockSum += shares.least
  memory.blockMostSum += shares.most
  if (memory.blockCount < BLOCK_READINGS || sample.atS - memory.blockFromS < BLOCK_S) return null
  const count = memory.blockCount
  memory.blockCount = 0
  const from = referenceOf(memory)
  return {
    share: memory.blockSum / count,
    most: memory.blockMostSum / count,
    error: dropError(from, moment, { humidityPct: sample.humidityPct ?? 0, tempC: sample.tempC, count }),
  }
}

/**
 * A plateau that nothing proved was waited for long enough: if it still stands for so long, h, it is no evaporation. The last of the
 * water goes within hours of the rest, and a day and a half, by which a dead pump has to be known, are then nearly over; in a
 * saturated box the air has stood long enough.
 */
function standsH({ wasWet }: NoDropMemory, { wetGate }: Moment): number | null {
  if (!wasWet || wetGate.isTimedOut !== true) return null
  return wetGate.isStagnant === true ? WAIT_MIN_H : WET_HOURS_MIN
}

/** Whether what a run is drying is long enough under way for its pace to be judged. */
function isDue(memory: NoDropMemory, moment: Moment, waitedH: number): boolean {
  const isFlightDay = moment.flightAtS !== null && moment.atS - moment.flightAtS < FLIGHT_DAY_S
  if (!isFlightDay && !memory.wasWet) return true
  return waitedH >= WET_HOURS_MIN && waitedH * slowestPerH(moment) >= WET_TIME_CONSTANTS
}

/** Beads that break through send wet air back: where that is known, a run that once came down has no dead pump. */
function isExplained(memory: NoDropMemory, others: readonly OpenAlert[]): boolean {
  return memory.wasDown && others.some((alert) => alert.rule === 'beads-spent')
}

/**
 * An inferred run that has been low in the band may have ended between two readings, or its turn lies in the noise: a
 * warm day keeps the air there. If it was no run at all, the air is back at `start` by the evening, and a new one begins.
 */
function mayHaveEnded({ wasLow }: NoDropMemory, { pump }: Moment): boolean {
  return wasLow && pump.basis === 'inferred'
}

function judgeDrop(memory: NoDropMemory, moment: Moment, sample: Sample, open: OpenAlert | null): Verdict {
  const { humidityPct, tempC } = sample
  if (humidityPct === null || memory.refAtS === null || moment.wetGate.isOpen) return SAME
  if (open === null && mayHaveEnded(memory, moment)) return SAME
  const from = referenceOf(memory)
  const shares = dropShares(from, moment, humidityPct, tempC)
  if (shares === null) {
    if (humidityPct > memory.refPct) refer(memory, { atS: sample.atS, pct: humidityPct, tempC })
    return SAME
  }
  const share = shares.least
  if (open !== null && share < STANDS_SHARE) memory.stoodAtS = sample.atS
  if (
    open !== null &&
    share > DROP_OVER &&
    share > 2 * dropError(from, moment, { humidityPct, tempC, count: 1 })
  ) {
    // What was counted before the pump took hold again says nothing of it.
    memory.hits = 0
    memory.blockCount = 0
    learnOutlasting(memory, moment, sample.atS)
    return { kind: 'clear', evidence: { endedBy: 'drop', nowPct: humidityPct, nowAtS: sample.atS } }
  }
  // A surge in mid-run, as of a preheat that nobody entered: where it falls again the pump is what takes it down.
  if (memory.peak !== null && isMovedSince(memory, memory.peak, moment, sample)) {
    memory.hasMoved = true
    refer(memory, memory.peak)
    return SAME
  }
  const waitedH = (sample.atS - memory.refAtS) / HOUR_S
  const standH = standsH(memory, moment)
  const mayStand = standH !== null && waitedH >= standH
  const isPaceDue = isDue(memory, moment, waitedH)
  if (waitedH < WAIT_MIN_H || !(mayStand || isPaceDue)) return SAME
  const drop = takeBlock(memory, moment, sample, shares)
  if (drop === null) return SAME
  const isStanding = mayStand && drop.share < STANDS_SHARE
  const isSlow = isBelowReach(drop, moment, waitedH)
  // Far enough down not to be slow it was moved as well: what it then stands at is no air that never was.
  const isMoved = isMovedAir(drop, from, moment, { humidityPct, tempC, count: 1, waitedH })
  if (isMoved) memory.hasMoved = true
  if (isMoved && isSlow) {
    memory.down.hasDropped = true
    if (open === null && !isTailing(memory, moment)) {
      refer(memory, { atS: sample.atS, pct: humidityPct, tempC })
      return SAME
    }
  }
  const hasMoved = memory.down.hasDropped || memory.hasMoved
  const isTail = (hasMoved && isTailing(memory, moment)) || isWetWithin(moment, knownWaitS(memory))
  const isHit = isPaceDue && isSlow && (!isTail || hasStopped(memory, drop, moment, humidityPct))
  const isDrying = (isStanding || isTail) && isDrierThanYesterday(memory, moment, sample)
  memory.hits = (isStanding || isHit) && !isDrying ? memory.hits + 1 : 0
  const isOver = waitedH * slowestPerH(moment) >= WET_TIME_CONSTANTS
  const isHigh = humidityPct >= Math.max(STILL_HIGH_PCT, moment.switchStartPct)
  // Air that climbs is measured from where it began to.
  if (memory.hits === 0 && isOver && isHigh && drop.share >= -STANDS_SHARE) {
    refer(memory, { atS: sample.atS, pct: humidityPct, tempC })
  }
  if (memory.hits < BLOCKS_IN_A_ROW || (open === null && isMaybeTakenOff(moment))) return SAME
  const evidence = evidenceOf(memory, moment, sample, drop)
  return consequent(moment, open, { sinceS: memory.refAtS, evidence })
}

const ON_PLATEAU: Verdict = {
  kind: 'unknown',
  why: 'on the wet plateau a dead pump cannot be told from evaporation until the water budget is spent',
}

function step(
  memory: NoDropMemory,
  moment: Moment,
  open: OpenAlert | null,
  others: readonly OpenAlert[],
): Verdict {
  if (moment.pump.state !== 'run') {
    forget(memory)
    return open === null ? CLEAR : SAME
  }
  // The sensor sits at the beads' exit: dry air there says nothing of what goes round.
  if (moment.isLoopTest) {
    forget(memory)
    return SAME
  }
  if (memory.runFromS !== moment.pump.sinceS) {
    begin(memory, moment.pump.sinceS)
  }
  if (isPreheated(moment) || moment.unhookedAtS !== null || isMaybeOff(moment)) {
    suspend(memory, moment)
    return SAME
  }
  const { wetGate } = moment
  if (open !== null && wetGate.isOpen && (wetGate.openedAtS ?? 0) > open.raisedAtS) {
    return { kind: 'clear', evidence: { endedBy: 'surge' } }
  }
  // What is to be told once the beads are fresh starts from what they then dry.
  if (open === null && isExplained(memory, others)) memory.refAtS = null
  const nothingNew = open === null ? CLEAR : SAME
  let verdict: Verdict = wetGate.isOpen ? ON_PLATEAU : nothingNew
  for (const sample of moment.fresh) {
    if (sample.place !== 'return') continue
    if (sample.humidityPct !== null) follow(memory, moment, sample, sample.humidityPct)
    const power = judgePower(memory, moment, sample, open)
    // Right after a landing only the meter is believed.
    const found = power ?? (moment.suspended === null ? judgeDrop(memory, moment, sample, open) : SAME)
    if (found.kind !== 'same') verdict = found
  }
  return verdict
}

/**
 * The pump is said to run and the air does not get drier: pump dead, hose or cap off. Needs a run (reported, metered or
 * inferred) and the return humidity; metered power tells at once. Over after a drop to half way, a surge that opens the
 * wet gate, or power back to normal. On the wet plateau it cannot tell.
 */
export const noDrop: Rule<NoDropMemory> = {
  name: 'no-drop',
  start,
  step,
  pause,
  judges: { suspended: ['flight'] },
}
