/**
 * The contract between the fold, which knows what the air, the pump and the beads do, and the rules, which say
 * what somebody has to know. A rule is a pure step: it sees one `Moment` a grid time and its own small memory.
 */
import type { Causes } from '../beads/floor-causes.ts'
import type { Odds } from '../beads/forecast.ts'
import type { Place, RigSettings } from '../fold/inputs.ts'
import type { Cycle, Evidence, Forecast, OpenAlert, PumpBasis, RuleName, Urgency } from '../fold/outputs.ts'

/** One reading as the rules see it: as reported for the band, corrected and as vapour density for the water. */
export type Sample = {
  readonly atS: number
  readonly place: Place
  /** As reported, % RH; `null` if this report had no humidity. */
  readonly humidityPct: number | null
  /** With the sensor's correction, % RH. */
  readonly correctedPct: number | null
  /** This report's temperature, else the one held from an earlier report, degC; `null` if none is known. */
  readonly tempC: number | null
  /** From the corrected humidity and `tempC` (20 degC assumed without one), g/m3. */
  readonly densityGm3: number | null
  readonly pumpOn: boolean | null
  readonly powerW: number | null
}

export type PumpNow = {
  readonly state: 'run' | 'rest' | 'unknown'
  readonly basis: PumpBasis
  /** When the present state began, s; `null` while unknown. */
  readonly sinceS: number | null
}

/** The stretch after a flight, rig-on, preheat, first hook-up or gap in which a high plateau is evaporation. */
export type WetGate = {
  readonly isOpen: boolean
  /** While open: the rise that opened it had the shape of moved air. */
  readonly isProven?: boolean
  /** It was closed because its time was over, not because the air came down. */
  readonly isTimedOut?: boolean
  /** It was, because the box was saturated though the engine had cooled: its air stands. */
  readonly isStagnant?: boolean
  readonly openedAtS: number | null
  readonly movedG: number | null
  readonly budgetG: number
  /** Hours until the expected water is out, g/(F (rho_sat - rho_exit)); `null` without a flow. */
  readonly expectedH: number | null
}

/** The sensor's noise and step as learned from the rig's own readings, with priors before that. */
export type SensorNow = { readonly sigmaPct: number; readonly stepPct: number; readonly stuckShare: number }

/** A run that just ended, as its readings showed it, % RH and degC. `isWhole`: seen from its start, and no wet plateau in it. */
export type EndedRun = {
  readonly fromS: number
  readonly toS: number
  readonly startPct: number | null
  /** The highest reading of the surge at its start, and of all of it. */
  readonly peakPct: number | null
  readonly topPct: number
  /** The engine's own air at its start, once the box is flushed, g/m3; `null` where the run was too short to show it. */
  readonly engineGm3: number | null
  /** Mean of the air that it sent to the beads, g/m3, from reading to reading; `null` without a flow. */
  readonly inletGm3?: number | null
  readonly endPct: number | null
  readonly tempC: number | null
  readonly daysSinceFlight: number | null
  readonly afterFlight: boolean
  readonly isWhole: boolean
  /** ln of the minutes it took between the two marks, at 15 degC; `null` where it did not pass both. */
  readonly lnFallMin: number | null
  /** What it was heading for, % RH, and the standard error. */
  readonly floor: { readonly pct: number; readonly sePct: number } | null
  /** How long the engine had then been dry, logged or seen, days. */
  readonly dryDays: number
}

/** What the ledger makes of a run that has ended. */
export type LedgerNow = {
  /** Probability that the beads send back air wetter than that run ended with, its sensor's error allowed for. */
  readonly overShare: number
  readonly takenG: number
}

export type Moment = {
  /** Grid time, s. */
  readonly atS: number
  readonly settings: RigSettings
  /** Readings since the last grid time, in order, all places. */
  readonly fresh: readonly Sample[]
  /** The last sample with a humidity at each place, however old. */
  readonly latest: Readonly<Record<Place, Sample | null>>
  /** Last time anything was heard, any place. */
  readonly heardAtS: number | null
  /** Longest spacing that is no gap, s: max(3 Q, 20 min). `spacingS` is Q. */
  readonly gapMaxS: number
  readonly spacingS: number
  /** True if `atS - heardAtS` (return place) exceeds `gapMaxS`: rules then neither raise nor clear. */
  readonly isGap: boolean
  /** Why nothing is judged now, or `null` when it is. */
  readonly suspended: 'off' | 'salt-check' | 'power-off' | 'flight' | null
  readonly isAway: boolean
  /**
   * Since when the logbook says off, s, and the runs that dried since then or since the last landing: how many, how many as slowly as an
   * engine dries, how many of these from air that only an engine has, the first and the last, s.
   */
  readonly offSinceS: number | null
  readonly offRuns: {
    readonly runs: number
    readonly engineRuns: number
    readonly wetRuns: number
    readonly firstRunAtS: number | null
    readonly lastRunAtS: number | null
  }
  readonly isFloorCheck: boolean
  readonly isLoopTest: boolean
  readonly preheatAtS: number | null
  readonly pump: PumpNow
  /** The run began with air that sprang from where no pump starts: the rig may have been taken off. */
  readonly isRunSprung: boolean
  /** Median pump power while on, W, when metered and learned. */
  readonly pumpPowerW: number | null
  /** State lag of the pump report (95 %), s. */
  readonly reportLagS: number
  readonly lastRunAtS: number | null
  /** Learned switching points (median reading at switches), % RH as reported; the band until learned. */
  readonly switchStartPct: number
  readonly switchStopPct: number
  readonly sensor: SensorNow
  readonly wetGate: WetGate
  readonly flightAtS: number | null
  /** Last time the engine was wetted or open, logged or not: a flight, a wet plateau, a rig that looked unhooked; s. */
  readonly wettedAtS: number | null
  /** When the last wet plateau had come down, s. */
  readonly driedAtS: number | null
  /** End of the last run that came down to `stop` and can have emptied the engine, s. */
  readonly stoppedAtS: number | null
  /** Water that the beads took up since the last logged flight, g, by the ledger; `null` where not all of it was counted. */
  readonly sinceFlightG: number | null
  /** `flight` entry not yet answered by an `on` or by a run with a drop. */
  readonly unansweredFlightAtS: number | null
  /** When the rig was seen to be taken off, logged or not, and is not back yet, s. */
  readonly unhookedAtS: number | null
  /** Drying rate at 15 degC with its 5 % and 95 % quantiles, 1/h (prior 0.37..12). */
  readonly kPerH: { readonly low: number; readonly mid: number; readonly high: number }
  /** Apparent floor and its 95 % upper bound as vapour density, g/m3, at the present temperature. */
  readonly floorGm3: { readonly mid: number; readonly high: number } | null
  readonly lambdaRefPerH: number | null
  readonly ambientGm3: number | null
  readonly ambientPct: number | null
  readonly ambientTempC: number | null
  readonly isAmbientMeasured: boolean
  /** Hangar temperature through a 4 h lag: the metal, degC. Coldest of the last 24 h beside. */
  readonly metalTempC: number | null
  readonly coldestMetalTempC: number | null
  /** RH at the coldest metal, %, from the air last sampled while it moved and what has got in since. */
  readonly metalPct: number | null
  /** Cycles closed at this grid time: known a rest later than the run itself. */
  readonly closed: readonly Cycle[]
  /** Runs that ended at this grid time. */
  readonly ended: readonly EndedRun[]
  readonly runTimeRatio: number | null
  /** Standard error of ln of it; `null` with it. */
  readonly runTimeRatioLnSd: number | null
  /** A floor check that ended at this grid time: exit air + offset + delta, % RH, and its standard error. */
  readonly floorCheckPct: { readonly mid: number; readonly se: number } | null
  readonly forecast: Forecast | null
  /** How soon the forecast's beads are used up, as probabilities; `null` without a forecast. */
  readonly beadsOdds: Odds | null
  /** Of a floor that has risen, what has lifted it; worked out when asked. `null` while no beads are known. */
  readonly causes: () => Causes | null
  /** Worked out when asked; `null` without a ledger. */
  readonly ledger: (run: EndedRun) => LedgerNow | null
  /** When the beads now in the column came out of the oven, s; `null` for a fill already running when first seen. */
  readonly fillFromS: number | null
  /** What was lately done that can explain a jump: minutes the rig was off or in a gap before this time. */
  readonly offMinBefore: number
  /** When the last stretch off, with a salt check or in a gap was over, s. */
  readonly backAtS: number | null
}

/** Why a rule cannot tell: the missing thing, in the words of the product. */
export type Lack = string

export type Verdict =
  | {
      readonly kind: 'holds'
      readonly urgency: Urgency
      /** First reading for which the finding held, s. */
      readonly sinceS: number
      readonly evidence: Evidence
      /** An open alert says it at once, not with the next day. */
      readonly isNews?: boolean
    }
  /** Judged, and in order. `evidence` says what ended it, where that is worth a sentence. */
  | { readonly kind: 'clear'; readonly evidence?: Evidence }
  /** Nothing new to judge: an open alert stays open, a closed one closed. */
  | { readonly kind: 'same' }
  /** The rig lacks what the rule needs. */
  | { readonly kind: 'unknown'; readonly why: Lack }

/** Made once: a year of replay asks every rule a hundred thousand times. */
export const CLEAR: Verdict = { kind: 'clear' }
export const SAME: Verdict = { kind: 'same' }

export type Suspension = NonNullable<Moment['suspended']>

/** Gaps and suspensions in which a rule is judged all the same. */
export type Judges = { readonly gap?: boolean; readonly suspended?: readonly Suspension[] }

/**
 * `M` is JSON: numbers, strings, booleans, null, arrays and records of these; bounded. A rule writes into its own
 * memory in place: the fold clones all memory once per call, not once per grid time.
 */
export type Rule<M> = {
  readonly name: RuleName
  readonly start: () => M
  /**
   * `open` is the rule's own open alert: what ends an alert is stricter than what does not raise it. `others` are all
   * that are open.
   */
  readonly step: (memory: M, moment: Moment, open: OpenAlert | null, others: readonly OpenAlert[]) => Verdict
  /** Instead of `step` while nothing may be judged: half-finished stretches are forgotten, never bridged. */
  readonly pause: (memory: M, moment: Moment) => void
  readonly judges?: Judges
}
