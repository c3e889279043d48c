import type { Evidence, Interval, OpenAlert } from '../fold/outputs.ts'
import { isAfterFlight } from './drying.ts'
import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600
const DAY_S = 86_400

/**
 * Somebody has to come before the next flight but two: the low edge (10 %) of what is left is under one flight and the
 * middle under three, or the same in days with a week. A fill ends on a flight's wet air or not at all for weeks, so a
 * middle that is one flight too high is the rule: with under two, a fifth of fills were told less than a week ahead. Asking both of a wide first
 * forecast warns once per fill; the low edge alone would warn at half the fill. A correct warning is no false alarm; a wrong one needs
 * the true capacity twice the middle, which the 80 % interval leaves to one first fill in ten, and a weighing ends.
 */
const FLIGHTS = { low: 1, mid: 3 } as const
const DAYS = { low: 7, mid: 21 } as const
/** Back well above both, as after a weighing that found more room. */
const CLEAN_FACTOR = 2

/** Exit air as wet as `stop`, measured beside the beads late in a run, twice in a row, s into the run. */
const SUPPLY_AFTER_S = HOUR_S
const SUPPLY_HITS = 2

/**
 * Metal over 40 % for a day, with beads that cannot take it down: no longer a matter of the next visit. After a flight the
 * metal is wet for a day or more with any beads, so those days do not count; and what was `now` once stays it.
 */
const WET_METAL_PCT = 40
const WET_METAL_S = 24 * HOUR_S

type BeadsMemory = {
  wetMetalSinceS: number | null
  supplyHits: number
  supplySinceS: number | null
}

const start = (): BeadsMemory => ({ wetMetalSinceS: null, supplyHits: 0, supplySinceS: null })

function isShort(
  left: Interval | null | undefined,
  limit: { readonly low: number; readonly mid: number },
): boolean {
  return left !== null && left !== undefined && left.low < limit.low && left.mid < limit.mid
}

function isPlenty(
  left: Interval | null | undefined,
  limit: { readonly low: number; readonly mid: number },
): boolean {
  return (
    left === null || left === undefined || (left.low >= limit.low && left.mid >= limit.mid * CLEAN_FACTOR)
  )
}

function followSupply(memory: BeadsMemory, moment: Moment): void {
  const { pump } = moment
  if (pump.state !== 'run' || pump.sinceS === null) return
  for (const sample of moment.fresh) {
    if (sample.place !== 'supply' || sample.correctedPct === null) continue
    if (sample.atS - pump.sinceS < SUPPLY_AFTER_S) continue
    const isSpent = sample.correctedPct >= moment.settings.band.stopPct
    memory.supplyHits = isSpent ? memory.supplyHits + 1 : 0
    if (memory.supplyHits === 0) memory.supplySinceS = null
    else memory.supplySinceS ??= sample.atS
  }
}

function evidenceOf(memory: BeadsMemory, moment: Moment, by: string): Evidence {
  const { forecast } = moment
  return {
    by,
    takenUpG: forecast?.takenUpG?.mid ?? null,
    capacityG: forecast?.capacityG?.mid ?? null,
    flightsLeftLow: forecast?.flightsLeft?.low ?? null,
    flightsLeftMid: forecast?.flightsLeft?.mid ?? null,
    flightsLeftHigh: forecast?.flightsLeft?.high ?? null,
    daysLeftLow: forecast?.daysLeft?.low ?? null,
    daysLeftMid: forecast?.daysLeft?.mid ?? null,
    daysLeftHigh: forecast?.daysLeft?.high ?? null,
    emptyAtS: forecast?.emptyAtS ?? null,
    supplyPct: by === 'supply' ? (moment.latest.supply?.correctedPct ?? null) : null,
    floorCheckPct: moment.floorCheckPct?.mid ?? null,
    metalPct: moment.metalPct,
    metalWetSinceS: memory.wetMetalSinceS,
    fillFromS: moment.fillFromS,
  }
}

/** What says that the beads are spent, or `null`. */
function reason(memory: BeadsMemory, moment: Moment): string | null {
  if (memory.supplyHits >= SUPPLY_HITS) return 'supply'
  const { forecast, floorCheckPct } = moment
  if (floorCheckPct !== null && floorCheckPct.mid - 2 * floorCheckPct.se > moment.settings.band.stopPct)
    return 'floor-check'
  if (isShort(forecast?.flightsLeft, FLIGHTS)) return 'flights'
  return isShort(forecast?.daysLeft, DAYS) ? 'days' : null
}

const NO_BAKE: Verdict = {
  kind: 'unknown',
  why: 'these beads were already in use when the rig was first seen: a bake or new beads in the logbook starts the ledger',
}
const NO_FORECAST: Verdict = {
  kind: 'unknown',
  why: 'bead mass, volume or flow is missing in the settings, so nothing counts the water',
}

function step(memory: BeadsMemory, moment: Moment, open: OpenAlert | null): Verdict {
  const isWetMetal = moment.metalPct !== null && moment.metalPct > WET_METAL_PCT
  if (isWetMetal && !isAfterFlight(moment)) memory.wetMetalSinceS ??= moment.atS
  else memory.wetMetalSinceS = null
  if (open !== null && moment.fillFromS !== null && moment.fillFromS > open.raisedAtS) {
    Object.assign(memory, start())
    return { kind: 'clear', evidence: { endedBy: 'new fill' } }
  }
  followSupply(memory, moment)
  const by = reason(memory, moment)
  if (by !== null) {
    const isWet = memory.wetMetalSinceS !== null && moment.atS - memory.wetMetalSinceS >= WET_METAL_S
    const urgency = isWet || open?.urgency === 'now' ? 'now' : 'visit'
    // No evidence is built while the alert stands as it is, but once a day: the ledger goes on.
    if (open !== null && open.urgency === urgency && moment.atS % DAY_S !== 0) return SAME
    return {
      kind: 'holds',
      urgency,
      sinceS: memory.supplySinceS ?? moment.atS,
      evidence: evidenceOf(memory, moment, by),
    }
  }
  const { forecast } = moment
  const isCounted = forecast !== null && (forecast.flightsLeft !== null || forecast.daysLeft !== null)
  if (!isCounted && moment.latest.supply === null) return moment.fillFromS === null ? NO_BAKE : NO_FORECAST
  if (open === null) return CLEAR
  const isClean = isCounted && isPlenty(forecast.flightsLeft, FLIGHTS) && isPlenty(forecast.daysLeft, DAYS)
  return isClean && memory.supplyHits === 0 ? { kind: 'clear', evidence: { endedBy: 'forecast' } } : SAME
}

/**
 * The beads are about to be used up, or are. Needs a fill whose bake is logged, with mass, volume and flow; or a sensor
 * beside the beads; or a floor check. Over with a new fill, or when a weighing finds room for six flights and six weeks.
 */
export const beadsSpent: Rule<BeadsMemory> = {
  name: 'beads-spent',
  start,
  step,
  pause: (memory) => {
    memory.supplyHits = 0
  },
}
