import { humidityPctOfDensity } from '../air/vapour.ts'
import type { Evidence, OpenAlert, Urgency } from '../fold/outputs.ts'
import type { Moment } from './rule.ts'

/** Steel rusts slowly under 40 % RH and ever faster above: the level that the consequence is counted to (common practice). */
const RUST_PCT = 40

/** A day's notice, a day's drive: what would reach `RUST_PCT` sooner than this cannot wait for the next visit. */
const NOW_UNDER_H = 48

/** An alert once `now` goes back to `visit` only at twice the time, so that a cold night does not flip it to and fro. */
const VISIT_OVER_H = 96

/**
 * Near 40 % a percent of hangar air decides between two days and never, and the air of a day goes to and fro by more: an alert
 * once `now` goes back only where air wetter by this, what two cheap sensors side by side differ by, would not bring it there
 * either, % RH.
 */
const LIMIT_MARGIN_PCT = 10

/**
 * Ingress of a closed loop before it is known, 1/h: a band of 6 to 15 % passed through about three times a day in air of
 * 60 % is ln(54/45)/8 h = 0.023. Upper ends: three times that unknown, twice the learned median (flights, wind, season).
 */
const INGRESS_PRIOR_PER_H = 0.023
const UNKNOWN_FACTOR = 3
const LEARNED_FACTOR = 2

/** Hangar air at the metal where neither a sensor nor the rig's climate is known, % RH: a temperate year's mean. */
const AMBIENT_ASSUMED_PCT = 75

export type Consequence = {
  readonly urgency: Urgency
  readonly evidence: {
    /** Hours until the air at the coldest metal passes 40 %, at the earliest: at `ingressHighPerH`. `null` if it never does. */
    readonly t40H: number | null
    /** When that is, s. */
    readonly passes40AtS: number | null
    /** RH at the coldest metal now, %. */
    readonly metalPct: number | null
    /** RH the coldest metal is heading for, %. */
    readonly metalLimitPct: number
    readonly ingressHighPerH: number
    readonly assumed: string | null
  }
}

function limitPct(moment: Moment): { pct: number; assumed: string | null } {
  const { ambientGm3, coldestMetalTempC, ambientPct } = moment
  if (ambientGm3 !== null && coldestMetalTempC !== null) {
    const pct = Math.min(100, humidityPctOfDensity(ambientGm3, coldestMetalTempC))
    return { pct, assumed: moment.isAmbientMeasured ? null : "the rig's climate" }
  }
  if (ambientPct !== null)
    return { pct: ambientPct, assumed: moment.isAmbientMeasured ? null : "the rig's climate" }
  return { pct: AMBIENT_ASSUMED_PCT, assumed: `hangar air of ${AMBIENT_ASSUMED_PCT} %` }
}

/**
 * Hours until air of `fromPct` that leans on `limitPct` at `ingressPerH` reaches 40 %: t = ln((x_amb - x)/(x_amb - 40)) /
 * lambda, the closed form of one well-mixed volume. 0 if it is there already, `null` if it never gets there.
 */
export function hoursTo40({
  fromPct,
  limitPct: towards,
  ingressPerH,
}: Readonly<Record<'fromPct' | 'limitPct' | 'ingressPerH', number>>): number | null {
  if (fromPct >= RUST_PCT) return 0
  if (towards <= RUST_PCT || !(ingressPerH > 0)) return null
  return Math.log((towards - fromPct) / (towards - RUST_PCT)) / ingressPerH
}

/**
 * Urgency by what happens if nobody comes: `now` if the air at the coldest metal passes 40 % RH within 48 h, or is above
 * it already and not drying; else `visit`. `ingressPerH` where the alert itself has measured one (a leak).
 * The engine's air is the last that was sampled while it moved, with what has got in since; without one, the latest reading.
 */
export function byConsequence(
  moment: Moment,
  open: OpenAlert | null,
  ingressPerH: number | null = null,
): Consequence {
  const metalPct = moment.metalPct ?? moment.latest.return?.correctedPct ?? null
  const { pct: metalLimitPct, assumed } = limitPct(moment)
  const learned = moment.lambdaRefPerH
  const usual =
    learned === null ? INGRESS_PRIOR_PER_H * UNKNOWN_FACTOR : Math.max(learned, 0) * LEARNED_FACTOR
  const ingressHighPerH = Math.max(usual, ingressPerH ?? 0)
  const inH = (towardsPct: number): number | null =>
    metalPct === null
      ? null
      : hoursTo40({ fromPct: metalPct, limitPct: towardsPct, ingressPerH: ingressHighPerH })
  const isNow = open?.urgency === 'now'
  const underH = isNow ? VISIT_OVER_H : NOW_UNDER_H
  const seenH = inH(metalLimitPct)
  const wetterH = isNow ? inH(Math.min(100, metalLimitPct + LIMIT_MARGIN_PCT)) : null
  const isSoon = (hours: number | null): boolean => hours !== null && hours < underH
  const urgency: Urgency = isSoon(seenH) || isSoon(wetterH) ? 'now' : 'visit'
  // What keeps it urgent is what is told.
  const t40H = !isSoon(seenH) && isSoon(wetterH) ? wetterH : seenH
  const passes40AtS = t40H === null ? null : Math.round(moment.atS + t40H * 3600)
  return { urgency, evidence: { t40H, passes40AtS, metalPct, metalLimitPct, ingressHighPerH, assumed } }
}

/** `holds` with the urgency by consequence and what it was judged from. */
export function consequent(
  moment: Moment,
  open: OpenAlert | null,
  finding: { readonly sinceS: number; readonly evidence: Evidence; readonly ingressPerH?: number | null },
): { kind: 'holds'; urgency: Urgency; sinceS: number; evidence: Evidence } {
  const { urgency, evidence } = byConsequence(moment, open, finding.ingressPerH ?? null)
  return { kind: 'holds', urgency, sinceS: finding.sinceS, evidence: { ...finding.evidence, ...evidence } }
}
