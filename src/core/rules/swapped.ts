import type { OpenAlert } from '../fold/outputs.ts'
import { rounded } from '../stats/rounded.ts'
import type { EndedRun, Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'
import { type Fall, fallAt, RUNS, type RunValue, type Scatter } from './sudden-fall.ts'

const DAY_S = 86_400

/** Somebody needs half an hour to change a column of beads. */
const OFF_MIN = 30
/** Stretches off that may wait for their four runs: a rig flown daily and dried once a week has seven. */
const OFFS_MAX = 8
/** Eight runs hold four on either side; two more, so that a stretch off in their middle is not lost. */
const RUNS_KEPT = 2 * RUNS + 2
/** So long beads are as baked: runs that get shorter then are an engine that had not been dried before. */
const FRESH_S = 14 * DAY_S
/** For so long after an engine was wet its runs are not compared, days. */
const DRY_DAYS = 3

/** Beads fresh from the oven halve the run time; what is left of a fall of a quarter could be any week's weather. */
const RATIO_SHARE = 0.6
const FLOOR_DOWN_PCT = 2
/**
 * One-sided 0.13 % for each stretch off. A rig has 25 to 50 a year, of which half find their four runs on either side: a question
 * that nobody needed every 30 rig-years, and the least fall on top of it.
 */
const SIGMAS = 3
/** ln of the time between the marks; the numbers are those of the run-time ratio (see `trace/run-time.ts`). */
const LN_SCATTER: Scatter = { prior: 0.25, priorRuns: 4, common: 0.1, perC: 0.015 }
/** Apparent floors, % RH, about exit air and what films add. */
const FLOOR_SCATTER: Scatter = { prior: 1.2, priorRuns: 4, common: 0, perC: 0 }

/** A question nobody answers in two weeks is not asked for ever; what it was asked of stays counted as before. */
const ASKED_FOR_S = 14 * DAY_S

/**
 * Beads that send back air above `stop` cannot dry an engine down to it. Where nine in ten by the ledger say that they do, and the
 * wet engine of two flights has been dried to `stop` since, the ledger is disproved: the beads are others, or it counts wrongly. A
 * forecast made from it is wrong either way. After one flight it may be a fifth off, as ledgers are, near the end of a fill: with
 * two a question is right more often than not. It is the engine that is looked at, not the ledger's grams: such a ledger has
 * the beads give water back.
 */
const USED_UP = 0.9
/** The ledger's word is good again, as after a weighing. */
const DOUBTFUL = 0.5
const FLIGHTS_DRIED = 2
/** A run so long after a flight's water was out has dried films too, days. Wet within a day again is the same flight. */
const DRIED_DAYS = 1
/** What leaks into an idle engine in so long is as much as two flights bring, s. */
const IDLE_S = 56 * DAY_S

type SwappedMemory = {
  /** ln of run times and apparent floors of the last dry runs. */
  times: RunValue[]
  floors: RunValue[]
  /** Ends of stretches off since, s. */
  offs: number[]
  /** When these beads were first seen, s. */
  sinceS: number | null
  /** The fill that the runs belong to: another's are no comparison. */
  fillFromS: number | null
  /** Since when runs have ended at `stop` though the beads are used up by the ledger, s; engines dried since, and the last one wet. */
  beyond: { sinceS: number; dried: number; wetS: number } | null
}

const start = (): SwappedMemory => ({
  times: [],
  floors: [],
  offs: [],
  sinceS: null,
  fillFromS: null,
  beyond: null,
})

function keep(runs: RunValue[], run: RunValue): void {
  runs.push(run)
  if (runs.length > RUNS_KEPT) runs.shift()
}

function takeRun(memory: SwappedMemory, run: EndedRun): void {
  if (!run.isWhole || run.dryDays < DRY_DAYS) return
  const dryDays = rounded(run.dryDays, 2)
  const tempC = rounded(run.tempC ?? 15, 2)
  if (run.lnFallMin !== null) keep(memory.times, [run.toS, run.lnFallMin, 0, dryDays, tempC])
  if (run.floor !== null)
    keep(memory.floors, [run.toS, rounded(run.floor.pct, 3), rounded(run.floor.sePct, 3), dryDays, tempC])
}

const isFall = (fall: Fall | null, least: number): boolean =>
  fall !== null && fall.before - fall.after > Math.max(least, SIGMAS * fall.se)

/** The last stretch off since which the runs are shorter or head lower, or `null`. */
function askOfRuns(memory: SwappedMemory): Verdict | null {
  for (const offAtS of memory.offs.toReversed()) {
    const time = fallAt(memory.times, offAtS, LN_SCATTER)
    const floor = fallAt(memory.floors, offAtS, FLOOR_SCATTER)
    const isQuicker = isFall(time, -Math.log(RATIO_SHARE))
    if (!isQuicker && !isFall(floor, FLOOR_DOWN_PCT)) continue
    return {
      kind: 'holds',
      urgency: 'note',
      sinceS: offAtS,
      evidence: {
        by: 'runs',
        offAtS,
        isQuicker,
        timeShare: time === null ? null : Math.exp(time.after - time.before),
        floorBeforePct: floor?.before ?? null,
        floorAfterPct: floor?.after ?? null,
      },
    }
  }
  return null
}

/** Whether a run has just ended at the lower limit of the band. */
const isAtStop = ({ endPct }: EndedRun, { settings }: Moment): boolean =>
  endPct !== null && endPct <= settings.band.stopPct + settings.switchTolPct

/** What the run that ended says of the ledger; `null` for nothing new. */
function askOfLedger(memory: SwappedMemory, moment: Moment, run: EndedRun): Verdict | null {
  if (!isAtStop(run, moment)) return null
  const ledger = moment.ledger(run)
  if (ledger === null || ledger.overShare < DOUBTFUL) {
    memory.beyond = null
    return CLEAR
  }
  if (ledger.overShare < USED_UP) return null
  memory.beyond ??= { sinceS: run.toS, dried: 0, wetS: run.toS }
  const { beyond } = memory
  const wetS = Math.round(run.toS - run.dryDays * DAY_S)
  if (run.dryDays >= DRIED_DAYS && wetS > beyond.wetS) {
    if (beyond.dried === 0 || wetS - beyond.wetS >= DRIED_DAYS * DAY_S) beyond.dried += 1
    beyond.wetS = wetS
  }
  if (beyond.dried < FLIGHTS_DRIED && run.toS - beyond.sinceS < IDLE_S) return null
  return {
    kind: 'holds',
    urgency: 'note',
    sinceS: beyond.sinceS,
    evidence: {
      by: 'ledger',
      usedUpAtS: beyond.sinceS,
      takenUpG: ledger.takenG,
      endPct: run.endPct,
      stopPct: moment.settings.band.stopPct,
    },
  }
}

/** Other beads are in the logbook: what was seen of those before is no comparison. */
function followFill(memory: SwappedMemory, moment: Moment): boolean {
  memory.sinceS ??= moment.atS
  if (moment.fillFromS === memory.fillFromS) return false
  Object.assign(memory, start())
  memory.fillFromS = moment.fillFromS
  memory.sinceS = moment.fillFromS ?? moment.atS
  return true
}

function takeOff(memory: SwappedMemory, atS: number): void {
  if (memory.offs.includes(atS) || atS < (memory.sinceS ?? atS) + FRESH_S) return
  memory.offs.push(atS)
  if (memory.offs.length > OFFS_MAX) memory.offs.shift()
}

/** The rig was off, or is seen to be off the engine while its hub goes on. */
function followOff(memory: SwappedMemory, { backAtS, offMinBefore, unhookedAtS }: Moment): void {
  if (backAtS !== null && offMinBefore >= OFF_MIN) takeOff(memory, backAtS)
  if (unhookedAtS !== null) takeOff(memory, unhookedAtS)
}

/** The runs after a question are what later ones are compared with. */
function startAnew(memory: SwappedMemory): void {
  memory.offs = []
  memory.times = memory.times.slice(-RUNS)
  memory.floors = memory.floors.slice(-RUNS)
}

function judge(memory: SwappedMemory, moment: Moment, open: OpenAlert | null): Verdict {
  let verdict: Verdict = open === null ? CLEAR : SAME
  for (const run of moment.ended) {
    takeRun(memory, run)
    const byLedger = askOfLedger(memory, moment, run)
    if (open?.evidence['by'] === 'ledger') {
      if (byLedger?.kind === 'clear') verdict = { kind: 'clear', evidence: { endedBy: 'ledger' } }
      continue
    }
    const byRuns = open === null ? askOfRuns(memory) : null
    if (byRuns !== null) startAnew(memory)
    if (open === null && verdict.kind !== 'holds')
      verdict = byRuns ?? (byLedger?.kind === 'holds' ? byLedger : CLEAR)
  }
  return verdict
}

function step(memory: SwappedMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const isAnswered = followFill(memory, moment)
  if (open !== null && isAnswered) return { kind: 'clear', evidence: { endedBy: 'new fill' } }
  followOff(memory, moment)
  // Who asks because the ledger is disproved goes on asking: it would forecast the same again.
  if (open !== null && open.evidence['by'] !== 'ledger' && moment.atS - open.raisedAtS > ASKED_FOR_S)
    return { kind: 'clear', evidence: { endedBy: 'unanswered' } }
  return moment.ended.length === 0 ? SAME : judge(memory, moment, open)
}

/**
 * Were the beads changed without a line in the logbook? Asked when runs are suddenly much shorter after the rig was off, and when
 * beads that the ledger calls used up go on drying. Over with a logged fill; the first also when nobody has answered in two
 * weeks, the second when the ledger and the runs agree again.
 */
export const swapped: Rule<SwappedMemory> = { name: 'swapped', start, step, pause: () => {} }
