import { type Salt, saltPoint } from './salt-points.ts'

/** A small pot reaches its point in hours; 8 h leaves a margin for a cold shed. */
export const SALT_CHECK_MIN_S = 8 * 3600
/** The stretch at the end that must be steady. */
export const SALT_STEADY_S = 2 * 3600
/** 1 K between salt and sensor is 0.7 % RH at LiCl, so the pot must not warm or cool while it counts. */
export const SALT_DRIFT_MAX_K_PER_H = 0.3
/** Steady within this, % RH, or two steps of a coarse sensor. */
export const SALT_STEADY_PCT = 0.3
/** A cheap sensor is off by 4 % new and a few more with age; 10 % is a wrong salt, a dried pot or a broken sensor. */
export const SALT_OFFSET_MAX_PCT = 10

/** One standard deviation of what the pot itself adds: 0.5 K between salt and sensor, relative to the humidity. */
const POT_RELATIVE_SD = 0.03

export type SaltCheck = {
  readonly salt: Salt
  readonly fromS: number
  readonly untilS: number
  /** What the sensor showed at the end, % RH, as read or entered. */
  readonly shownPct: number
  readonly tempC: number
  /** The sensor's step, % RH. */
  readonly stepPct: number
  /** Readings of the last two hours, if they came in; empty: the entry is believed. */
  readonly last: readonly {
    readonly atS: number
    readonly humidityPct: number
    readonly tempC: number | null
  }[]
}

/** A known point of one sensor. */
export type SensorPoint = {
  readonly atS: number
  readonly shownPct: number
  readonly truePct: number
  /** One standard deviation, % RH: salt, pot and step together. */
  readonly sigmaPct: number
}

export type SaltRefusal =
  | { readonly reason: 'too_short'; readonly hours: number; readonly hoursMin: number }
  | { readonly reason: 'temperature_out_of_range'; readonly tempC: number }
  | { readonly reason: 'not_steady'; readonly spreadPct: number; readonly spreadMaxPct: number }
  | { readonly reason: 'temperature_drifts'; readonly kPerH: number; readonly kPerHMax: number }
  | { readonly reason: 'too_far_off'; readonly shownPct: number; readonly truePct: number }

export type SaltResult =
  | { readonly ok: true; readonly point: SensorPoint }
  | ({ readonly ok: false } & SaltRefusal)

function spreadOf(values: readonly number[]): number {
  return values.length === 0 ? 0 : Math.max(...values) - Math.min(...values)
}

/** Steadiness of the last two hours, or the reason against it. A single reading cannot show a drift. */
function refusalOfLast(check: SaltCheck): SaltRefusal | null {
  const last = check.last.filter((reading) => reading.atS > check.untilS - SALT_STEADY_S)
  const spreadPct = spreadOf(last.map((reading) => reading.humidityPct))
  const spreadMaxPct = Math.max(SALT_STEADY_PCT, 2 * check.stepPct)
  // Counted in steps, so that rounding of 0.1 + 0.2 refuses nobody.
  if (spreadPct > spreadMaxPct + 1e-9) return { reason: 'not_steady', spreadPct, spreadMaxPct }
  const temps = last.flatMap(({ atS, tempC }) => (tempC === null ? [] : [{ atS, tempC }]))
  const first = temps[0]
  const end = temps.at(-1)
  if (first === undefined || end === undefined || end.atS - first.atS < SALT_STEADY_S / 2) return null
  const kPerH = (Math.abs(end.tempC - first.tempC) * 3600) / (end.atS - first.atS)
  return kPerH > SALT_DRIFT_MAX_K_PER_H
    ? { reason: 'temperature_drifts', kPerH, kPerHMax: SALT_DRIFT_MAX_K_PER_H }
    : null
}

/**
 * Judges one salt check: at least 8 h, its last two hours steady in humidity and temperature, 5..40 degC, and the
 * reading within 10 % RH of the published point. A refusal carries the numbers that explain it.
 */
export function judgeSaltCheck(check: SaltCheck): SaltResult {
  const hours = (check.untilS - check.fromS) / 3600
  if (!(hours * 3600 >= SALT_CHECK_MIN_S)) {
    return { ok: false, reason: 'too_short', hours, hoursMin: SALT_CHECK_MIN_S / 3600 }
  }
  const known = saltPoint(check.salt, check.tempC)
  if (known === null) return { ok: false, reason: 'temperature_out_of_range', tempC: check.tempC }
  const refusal = refusalOfLast(check)
  if (refusal !== null) return { ok: false, ...refusal }
  const { shownPct } = check
  const truePct = known.humidityPct
  if (!(Math.abs(shownPct - truePct) <= SALT_OFFSET_MAX_PCT)) {
    return { ok: false, reason: 'too_far_off', shownPct, truePct }
  }
  const sigmaPct = Math.hypot(
    known.uncertaintyPct / 2,
    POT_RELATIVE_SD * truePct,
    check.stepPct / Math.sqrt(12),
  )
  return { ok: true, point: { atS: check.untilS, shownPct, truePct, sigmaPct } }
}
