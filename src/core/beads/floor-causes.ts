import { normalUpperTail } from '../stats/normal.ts'
import { studentLikelihood, weightBy } from './ensemble-evidence.ts'
import { type EnsembleMemory, freshExitPct, memberExitPct } from './ensemble.ts'
import { DESORPTION_MEAN_PCT } from './ensemble-update.ts'
import { FRONT_SHARE } from './forecast.ts'

/** Probabilities of what has lifted the floor that runs head for; they sum to 1. */
export type Causes = {
  readonly beads: number
  readonly leak: number
  readonly suctionLeak: number
  readonly sensor: number
}

type Estimate = { readonly mid: number; readonly se: number }

/** What tells the four apart. Two observables, run time and ingress, cannot; each `null` is one that is not there. */
export type CauseEvidence = {
  /** The ensemble's columns, of which the prior counts and what shows the exit air itself; `null` without a ledger. */
  readonly ensemble: EnsembleMemory | null
  /** Time since the beads were fresh, days: so long the other three have had their chance. */
  readonly days: number
  readonly stopPct: number
  /** Of the bed, degC. */
  readonly tempC: number
  /** How far the floor has risen, % RH. */
  readonly liftPct: number
  /** ln of the ingress of the last rests over the rig's own. */
  readonly ingressLn: Estimate | null
  /** Slope of the floor on the hangar's air, % RH in the box per % RH there, and the mean of the latter. */
  readonly slope: (Estimate & { readonly ambientPct: number }) | null
  /** A loop test of this fill, % RH. */
  readonly loopTestPct: number | null
  /** A floor check of this fill, % RH. */
  readonly floorCheckPct: number | null
  /** One standard deviation of the sensor's correction, % RH, and whether a salt check gave it since the floor began to rise. */
  readonly sensor: { readonly sdPct: number; readonly isChecked: boolean }
}

/**
 * A year's chance of each (common practice, no published source): plugs, caps and the dipstick are opened at every look at the
 * engine; hoses and clamps of the suction side, and a sensor that drifts by more than its sheet says, are once in seven years.
 */
const LEAKS_A_YEAR = 0.3
const SUCTION_LEAKS_A_YEAR = 0.15
const DRIFTS_A_YEAR = 0.15
/**
 * A leak or a sensor may have any size, beads have the one of their front: of sizes that scatter by 0.7 (ln), what was seen within
 * 0.3 is so much of what it might have been.
 */
const ANY_SIZE = 0.4
/** Without a ledger beads are used up or not: nobody knows. */
const BEADS_UNKNOWN = 0.5
/** No evidence is worth more than a thousand to one: each has a model behind it. */
const LN_ODDS_MAX = Math.log(1000)
/**
 * A leak that lifts the floor lifts the ingress as much (ln 2.2 where a floor is told). Either scatters by a factor of two beside
 * its noise: beads that let water through leave films wet, which then give it back at rest.
 */
const LEAK_LN = Math.log(2.2)
const INGRESS_LN_SD = 0.7
/** Of the slope that a lift all of hangar air would have, this is not known: exit air and films have their part. */
const SLOPE_SHARE_SD = 0.4
/** A sensor that drifts does so by some percent, % RH, one standard deviation. */
const DRIFT_SD_PCT = 3
/** A floor check this much of `stop` above fresh beads is one that somebody asks about. */
const HIGH_CHECK_SHARE = 0.4
/** A loop test and a drifted sensor agree within this, % RH: what films and oil add. */
const LOOP_TEST_SD_PCT = 1.3

/** Least scatter of anything here: a fit without residuals is no certainty. */
const SD_MIN = 1e-4

const lnDensity = (x: number, mid: number, sd: number): number =>
  -0.5 * ((x - mid) / Math.max(SD_MIN, sd)) ** 2 - Math.log(Math.max(SD_MIN, sd))

const oddsOf = (ln: number): number => Math.exp(Math.min(LN_ODDS_MAX, Math.max(-LN_ODDS_MAX, ln)))

/** Of so many a year, one in `days`. */
const chanceIn = (days: number, aYear: number): number => 1 - Math.exp((-aYear * Math.max(1, days)) / 365)

function leakOdds({ ingressLn }: CauseEvidence): number {
  if (ingressLn === null) return 1
  const { mid, se } = ingressLn
  const sd = Math.hypot(se, INGRESS_LN_SD)
  return oddsOf(lnDensity(mid, LEAK_LN, sd) - lnDensity(mid, 0, sd))
}

/** Air that comes from the hangar makes the floor follow it. */
function followOdds({ slope, liftPct }: CauseEvidence): number {
  if (slope === null || !(slope.ambientPct > 0)) return 1
  const expected = liftPct / slope.ambientPct
  const withLeak = lnDensity(slope.mid, expected, Math.hypot(slope.se, SLOPE_SHARE_SD * expected))
  return oddsOf(withLeak - lnDensity(slope.mid, 0, slope.se))
}

/** A salt check since the rise says that the sensor has not drifted so far. */
function driftOdds({ sensor, liftPct }: CauseEvidence): number {
  if (!sensor.isChecked) return 1
  return Math.min(1, oddsOf(lnDensity(liftPct, 0, sensor.sdPct) - lnDensity(liftPct, 0, DRIFT_SD_PCT)))
}

/**
 * A ratio of run times cancels an offset that the sensor always had; a floor check does not: how likely it has one as large as
 * what a high check was above fresh beads.
 */
function standingOffset({ floorCheckPct, ensemble, stopPct, tempC, sensor }: CauseEvidence): number {
  if (floorCheckPct === null || ensemble === null) return 0
  const excessPct = floorCheckPct - DESORPTION_MEAN_PCT - freshExitPct(ensemble, tempC)
  if (excessPct < HIGH_CHECK_SHARE * stopPct) return 0
  return normalUpperTail(excessPct / Math.hypot(sensor.sdPct, LOOP_TEST_SD_PCT))
}

const DIRECT = ['supply', 'loop-test'] as const

/** How likely what was seen is if beads did it, and how likely what was seen of the exit air alone is if another did. */
function byBeads({ ensemble, stopPct, tempC, loopTestPct, liftPct }: CauseEvidence): {
  beads: number
  others: number
  drifted: number
} {
  if (ensemble === null) return { beads: BEADS_UNKNOWN, others: 1, drifted: 1 }
  let prior = 0
  let beads = 0
  let others = 0
  let drifted = 0
  for (let member = 0; member < ensemble.weights.length; member++) {
    const exitPct = memberExitPct(ensemble, member, tempC)
    const weight = weightBy(ensemble, member, DIRECT)
    prior += weightBy(ensemble, member, [])
    others += weight
    if (exitPct > FRONT_SHARE * stopPct) beads += weight
    // A sensor that reads high does so in the loop test too.
    const z =
      loopTestPct === null ? 0 : (loopTestPct - exitPct - DESORPTION_MEAN_PCT - liftPct) / LOOP_TEST_SD_PCT
    drifted += weightBy(ensemble, member, ['supply']) * studentLikelihood(z)
  }
  return { beads: beads / prior, others: others / prior, drifted: drifted / prior }
}

/**
 * Beads, a leak of the engine, one on the suction side, or the sensor: how likely each is, given that the floor has risen. Bayes
 * over single causes: what each makes of the ledger, the ingress, the hangar's air, a floor check, a loop test and a salt check. That it
 * has risen is the asking rule's to know.
 */
export function floorCauses(seen: CauseEvidence): Causes {
  const { beads, others, drifted } = byBeads(seen)
  const follow = followOdds(seen)
  const leak = chanceIn(seen.days, LEAKS_A_YEAR) * ANY_SIZE * others * leakOdds(seen) * follow
  const suctionLeak = chanceIn(seen.days, SUCTION_LEAKS_A_YEAR) * ANY_SIZE * others * follow
  const reads = chanceIn(seen.days, DRIFTS_A_YEAR) * ANY_SIZE * driftOdds(seen) + standingOffset(seen)
  const sensor = reads * drifted
  const sum = beads + leak + suctionLeak + sensor
  return { beads: beads / sum, leak: leak / sum, suctionLeak: suctionLeak / sum, sensor: sensor / sum }
}
