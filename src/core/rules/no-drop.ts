import type { Evidence, OpenAlert } from '../fold/outputs.ts'
import { floorHighPct, isMaybeOff, isMaybeTakenOff, isPreheated } from './drying.ts'
import { type Drop, type Shares, dropError, dropShares, isBelowReach, isMovedAir } from './drying-drop.ts'
import {
  type Air,
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
import { followRest, isHeldDown, noticeFall } from './no-drop-rest.ts'
import {
  followPlateauTop,
  isDue,
  isOver,
  STANDS_SHARE,
  standsH,
  WAIT_MIN_H,
  STILL_HIGH_PCT,
  hasStopped,
  isDrierThanYesterday,
  isMovedSince,
  isStill,
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

/** Over above a half of the way, out of two errors' reach. */
const DROP_OVER = 1 / 2
/** Means of so long and so many readings are judged, two in a row. */
const BLOCK_S = 900
const BLOCK_READINGS = 2
const BLOCKS_IN_A_ROW = 2

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
 * Beads that break through send wet air back: where that is known, a run that once came down has no dead pump. Nor has one whose air
 * is known to have settled above the band: that it gets no drier is then told already, unless it was told of this run, which never
 * came down.
 */
function isExplained(memory: NoDropMemory, others: readonly OpenAlert[]): boolean {
  const hasMoved = memory.wasDown || memory.hasMoved
  return others.some(
    ({ rule, evidence }) =>
      (rule === 'beads-spent' && hasMoved) ||
      (rule === 'band-not-reached' && (hasMoved || evidence['runFromS'] !== memory.runFromS)),
  )
}

/**
 * An inferred run that has been low in the band may have ended between two readings, or its turn lies in the noise: a
 * warm day keeps the air there. If it was no run at all, the air is back at `start` by the evening, and a new one begins.
 */
function mayHaveEnded({ wasLow }: NoDropMemory, { pump }: Moment): boolean {
  return wasLow && pump.basis === 'inferred'
}

/**
 * An alert of this run ended because the air got drier: its pump is no dead one. That air no longer gets drier later on is for
 * band-not-reached to say.
 */
const isProven = ({ provenRunS, runFromS }: NoDropMemory): boolean =>
  provenRunS !== null && provenRunS === runFromS

/** The air has come down half of the way, out of two errors' reach. */
function isHalfWay(memory: NoDropMemory, moment: Moment, now: Air, share: number): boolean {
  const end = { humidityPct: now.pct, tempC: now.tempC, count: 1 }
  return share > DROP_OVER && share > 2 * dropError(referenceOf(memory), moment, end)
}

/** An alert is over. What was counted before the pump took hold again says nothing of it. */
function endDrop(memory: NoDropMemory, moment: Moment, now: Air): Verdict {
  memory.hits = 0
  memory.blockCount = 0
  learnOutlasting(memory, moment, now.atS)
  memory.provenRunS = memory.runFromS
  return { kind: 'clear', evidence: { endedBy: 'drop', nowPct: now.pct, nowAtS: now.atS } }
}

/** Whether a block of readings that made `drop` of the way in `waitedH` hours speaks for a dead pump. */
function isHit(memory: NoDropMemory, moment: Moment, sample: Sample, drop: Drop, waitedH: number): boolean {
  const humidityPct = sample.humidityPct ?? 0
  const standH = standsH(memory, moment)
  const isStanding = standH !== null && waitedH >= standH && drop.share < STANDS_SHARE
  const hasMoved = memory.down.hasDropped || memory.hasMoved
  const isTail = isTailing(memory, moment) || isWetWithin(moment, knownWaitS(memory))
  const hasStood =
    hasStopped(memory, drop, moment, humidityPct) || (!hasMoved && isStill(drop, moment, humidityPct))
  const isSlow = isDue(memory, moment, waitedH) && isBelowReach(drop, moment, waitedH)
  const isDrying = (isStanding || isTail) && isDrierThanYesterday(memory, moment, sample)
  return (isStanding || (isSlow && (!isTail || hasStood))) && !isDrying
}

function judgeBlock(
  memory: NoDropMemory,
  moment: Moment,
  sample: Sample,
  drop: Drop,
  open: OpenAlert | null,
): Verdict {
  const { atS, tempC } = sample
  const pct = sample.humidityPct ?? 0
  const refAtS = memory.refAtS ?? atS
  const waitedH = (atS - refAtS) / HOUR_S
  // Far enough down not to be slow it was moved as well: what it then stands at is no air that never was.
  const end = { humidityPct: pct, tempC, count: 1, waitedH }
  const isMoved = isMovedAir(drop, referenceOf(memory), moment, end)
  if (isMoved) memory.hasMoved = true
  if (isMoved && isBelowReach(drop, moment, waitedH)) {
    memory.down.hasDropped = true
    if (open === null && !isTailing(memory, moment)) {
      refer(memory, { atS, pct, tempC })
      return SAME
    }
  }
  memory.hits = isHit(memory, moment, sample, drop, waitedH) ? memory.hits + 1 : 0
  const isHigh = pct >= Math.max(STILL_HIGH_PCT, moment.switchStartPct)
  // Air that climbs is measured from where it began to.
  if (memory.hits === 0 && isOver(moment, waitedH) && isHigh && drop.share >= -STANDS_SHARE)
    refer(memory, { atS, pct, tempC })
  if (memory.hits < BLOCKS_IN_A_ROW) return SAME
  if (open === null && (isMaybeTakenOff(moment) || isProven(memory))) return SAME
  return consequent(moment, open, { sinceS: refAtS, evidence: evidenceOf(memory, moment, sample, drop) })
}

function judgeDrop(memory: NoDropMemory, moment: Moment, sample: Sample, open: OpenAlert | null): Verdict {
  const { atS, humidityPct, tempC } = sample
  if (humidityPct === null || memory.refAtS === null || moment.wetGate.isOpen) return SAME
  if (open === null && mayHaveEnded(memory, moment)) return SAME
  if (open === null && isHeldDown(memory, moment, sample)) {
    memory.hits = 0
    return SAME
  }
  const now = { atS, pct: humidityPct, tempC }
  const shares = dropShares(referenceOf(memory), moment, humidityPct, tempC)
  if (shares === null) {
    if (humidityPct > memory.refPct) refer(memory, now)
    return SAME
  }
  followPlateauTop(memory, moment, sample)
  if (open !== null && shares.least < STANDS_SHARE) memory.stoodAtS = atS
  if (open !== null && isHalfWay(memory, moment, now, shares.least)) return endDrop(memory, moment, now)
  // A surge in mid-run, as of a preheat that nobody entered: where it falls again the pump is what takes it down.
  if (memory.peak !== null && isMovedSince(memory, memory.peak, moment, sample)) {
    memory.hasMoved = true
    refer(memory, memory.peak)
    return SAME
  }
  const waitedH = (atS - memory.refAtS) / HOUR_S
  const standH = standsH(memory, moment)
  const mayBeJudged = isDue(memory, moment, waitedH) || (standH !== null && waitedH >= standH)
  if (waitedH < WAIT_MIN_H || !mayBeJudged) return SAME
  const drop = takeBlock(memory, moment, sample, shares)
  return drop === null ? SAME : judgeBlock(memory, moment, sample, drop, open)
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
    followRest(memory, moment)
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
  const hasSurged = wetGate.isOpen && wetGate.isProven && (wetGate.openedAtS ?? 0) > (open?.raisedAtS ?? 0)
  // A meter that tells of a dead pump is not outvoted by wet air.
  if (open !== null && hasSurged && open.evidence['by'] !== 'power') {
    return { kind: 'clear', evidence: { endedBy: 'surge' } }
  }
  // What is to be told once the beads are fresh starts from what they then dry.
  if (open === null && isExplained(memory, others)) memory.refAtS = null
  const nothingNew = open === null ? CLEAR : SAME
  let verdict: Verdict = wetGate.isOpen ? ON_PLATEAU : nothingNew
  for (const sample of moment.fresh) {
    if (sample.place !== 'return') continue
    if (sample.humidityPct !== null) follow(memory, moment, sample, sample.humidityPct)
    noticeFall(memory, moment, sample)
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
