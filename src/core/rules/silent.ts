import type { Moment, Rule, Verdict } from './rule.ts'
import { CLEAR, SAME } from './rule.ts'

const HOUR_S = 3600

/**
 * Nothing for three of the longest usual spacings, and at least two hours. Hubs lose an hour to a router, not two; and
 * with Q the 99th percentile of spacing, a healthy hub whose spacings fall off no slower than exponentially passes 3 Q once
 * in 1e6 readings: one reading in 5 minutes is 1e5 a year, so about 0.1 a year at the very worst, and far less where the
 * two hours rule. What is missed that long is an outage, and saying so is right.
 */
const SILENT_SPACINGS = 3
const SILENT_MIN_S = 2 * HOUR_S

/** After a day nobody knows how the engine is. */
const NOW_AFTER_S = 24 * HOUR_S

type SilentMemory = Record<string, never>

function judge(moment: Moment, isOpen: boolean): Verdict {
  const at = moment.latest.return
  if (at === null && moment.heardAtS === null) return { kind: 'unknown', why: 'no reading has come yet' }
  // The return sensor drives the band: an ambient sensor that still reports does not stand in for it.
  const lastS = at?.atS ?? moment.heardAtS ?? moment.atS
  // A hub that was unplugged with the rig has its time to be plugged in again.
  const quietFromS = Math.max(lastS, moment.backAtS ?? lastS)
  const quietS = moment.atS - quietFromS
  const limitS = Math.max(
    SILENT_SPACINGS * Math.max(moment.spacingS, moment.settings.reportEveryS ?? 0),
    SILENT_MIN_S,
  )
  if (quietS <= limitS) return isOpen && moment.isGap ? SAME : CLEAR
  if (moment.suspended !== null && moment.suspended !== 'flight') return SAME
  const elsewhereS = moment.heardAtS !== null && moment.heardAtS > lastS ? moment.heardAtS : null
  return {
    kind: 'holds',
    urgency: quietS > NOW_AFTER_S ? 'now' : 'visit',
    sinceS: lastS,
    evidence: {
      lastHeardS: lastS,
      lastPct: at?.humidityPct ?? null,
      limitH: limitS / HOUR_S,
      otherHeardS: elsewhereS,
      nowAfterS: quietFromS + NOW_AFTER_S,
    },
  }
}

/** Nothing heard. Needs one reading; judged on when readings were taken, not on when they came. Over with the next one, whatever is suspended then. */
export const silent: Rule<SilentMemory> = {
  name: 'silent',
  start: () => ({}),
  step: (_memory, moment, open) => judge(moment, open !== null),
  pause: () => {},
  judges: { gap: true, suspended: ['off', 'salt-check', 'power-off', 'flight'] },
}
