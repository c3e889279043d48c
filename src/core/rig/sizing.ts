import { saturationDensityGm3 } from '../air/vapour.ts'
import { bakeResidualKgKg } from '../beads/bake.ts'
import { bedCellCount, evenCells } from '../beads/bed.ts'
import { FLIGHT_AIR_PCT, runUntilSpent } from '../beads/capacity.ts'
import { type FastIsotherm, tabulateIsotherm } from '../beads/isotherm.ts'
import { type BeadKind, findBeadKind } from '../beads/kinds.ts'
import type { Interval } from '../fold/outputs.ts'
import { normalQuantile } from '../stats/normal.ts'
import { quantile } from '../stats/quantile.ts'

/** A rig that somebody thinks of building. What is `null` nobody knows yet: it widens the ranges. */
export type SizingQuestion = {
  /** Crankcase, hoses and column, L. */
  readonly volumeL: number
  readonly flowLPerMin: number
  /** Dry mass, g. */
  readonly beadMassG: number
  readonly beadKind: string
  readonly band: { readonly startPct: number; readonly stopPct: number }
  readonly climate: { readonly humidityPct: number; readonly tempC: number }
  /** Days from flight to flight; `null`: none. */
  readonly flightEveryDays: number | null
  /** Water a flight leaves in the engine, g. */
  readonly gPerFlight: number | null
  /** Hangar air that finds its way in, L/h. */
  readonly leakLPerH: number | null
  readonly pumpW: number | null
}

/** Middle and 80 % range of what may have no end: `null` for a number that is not there, as it is endless. */
export type OpenInterval = {
  readonly low: number | null
  readonly mid: number | null
  readonly high: number | null
}

/** Middle and 80 % range of each. */
export type SizingAnswer = {
  /** Chance that the loop never rests: the air settles at or above `stop`, however long the pump runs, 0..1. */
  readonly neverRestsShare: number
  /** Where the air settles with the pump kept on, % RH. */
  readonly settlesPct: Interval
  /** From hook-up after a flight until the return air reaches `stop`, h; `null` without flights. */
  readonly dryDownH: OpenInterval | null
  /** Runs that end at `stop`: none of a loop that never rests. */
  readonly runsPerWeek: Interval
  readonly runMin: OpenInterval
  /** Water that leakage brings, g a week. */
  readonly idleGPerWeek: Interval
  /** `null` without flights. */
  readonly flightsPerFill: Interval | null
  readonly daysPerFill: Interval
  readonly capacityG: Interval
  /** Energy of the pump, Wh a week, flights included. */
  readonly whPerWeek: Interval
  /** Share of the time with the pump on, %. Over 30 % on a dry engine the loop is not tight enough. */
  readonly dutyPct: Interval
  /** What the ranges suppose where nobody knows. */
  readonly assumed: readonly string[]
}

export type SizingRefusal =
  | {
      readonly reason: 'out_of_range'
      readonly name: string
      readonly value: number
      readonly low: number
      readonly high: number
    }
  | { readonly reason: 'unknown_beads'; readonly beadKind: string }
  | { readonly reason: 'band_upside_down'; readonly startPct: number; readonly stopPct: number }
  /** The air outside is too dry for the pump ever to start. */
  | { readonly reason: 'climate_in_band'; readonly humidityPct: number; readonly startPct: number }

export type SizingResult =
  | { readonly ok: true; readonly answer: SizingAnswer }
  | ({ readonly ok: false } & SizingRefusal)

/** What can be asked, each with its unit in the name. Beyond it the model has not been tried. */
export const SIZING_RANGES: Readonly<Record<string, readonly [low: number, high: number]>> = {
  volumeL: [5, 200],
  flowLPerMin: [0.2, 20],
  beadMassG: [100, 20_000],
  startPct: [4, 50],
  stopPct: [2, 40],
  humidityPct: [10, 98],
  tempC: [-15, 45],
  flightEveryDays: [0.5, 365],
  gPerFlight: [0.2, 60],
  leakLPerH: [0.01, 50],
  pumpW: [0.5, 100],
}

/** One possible truth about what the owner cannot know. */
type Draw = {
  readonly leakLPerH: number
  readonly gPerFlight: number
  /** Water in films and oil over that in the air. */
  readonly sorptionRatio: number
  readonly beadScale: number
  readonly tempC: number
  readonly pumpW: number
}

const DRAWS = 64

/** Medians and factors of one standard deviation: well-made rigs as far as is known (common practice, no published source). */
const LEAK_L_H_PER_45_L = 0.8
const LEAK_FACTOR = 2
const FLIGHT_G = 6
const FLIGHT_FACTOR = 2
const SORPTION_RATIO = 1.5
const SORPTION_FACTOR = 2.2
const BEAD_SCALE = 0.85
const BEAD_FACTOR = 1.4
/** Share of it that gives and takes within a run. */
const FILM_SHARE = 0.4
const SEASON_K = 6
const PUMP_W = 4
const PUMP_FACTOR = 1.3

/** Evenly spread points in five dimensions (Roberts' additive recurrence): the same answer for the same question. */
function drawsFor(question: SizingQuestion): Draw[] {
  // The one root of x^6 = x + 1: its powers spread best.
  const golden = 1.1347241384015194
  return Array.from({ length: DRAWS }, (_, i) => {
    const at = (dimension: number) =>
      normalQuantile(Math.min(0.999, Math.max(0.001, (0.5 + (i + 1) / golden ** dimension) % 1)))
    return {
      leakLPerH: question.leakLPerH ?? ((LEAK_L_H_PER_45_L * question.volumeL) / 45) * LEAK_FACTOR ** at(1),
      gPerFlight: question.gPerFlight ?? FLIGHT_G * FLIGHT_FACTOR ** at(2),
      sorptionRatio: SORPTION_RATIO * SORPTION_FACTOR ** at(3),
      beadScale: BEAD_SCALE * BEAD_FACTOR ** at(4),
      tempC: question.climate.tempC + SEASON_K * at(5),
      pumpW: question.pumpW ?? PUMP_W * PUMP_FACTOR ** at(1),
    }
  })
}

/** Hours and minutes without an end are infinite. */
type Outcome = {
  readonly settlesPct: number
  readonly dryDownH: number
  readonly runsPerWeek: number
  readonly runMin: number
  readonly idleGPerWeek: number
  readonly flightsPerFill: number
  readonly daysPerFill: number
  readonly capacityG: number
  readonly whPerWeek: number
  readonly dutyPct: number
}

const WEEK_H = 168
const DAY_H = 24
/** Daily swing of a hangar, K: a crankcase breathes its expansion once a day. */
const DAY_SWING_K = 8
/** Exit air of a bed that is not used up, % RH, from bake residual to the last fifth of a fill. */
const FRESH_EXIT_PCT = 0.7

/** Hours from one RH down to another against a limit, by the well-mixed box: `perH` exchanges an hour. A limit that is not below is never passed. */
function hoursBetween(from: number, to: number, limit: number, perH: number): number {
  return limit < to ? Math.log((from - limit) / (to - limit)) / perH : Number.POSITIVE_INFINITY
}

/** The closed forms of the loop for one possible truth. */
function outcomeOf(question: SizingQuestion, isotherm: FastIsotherm, draw: Draw): Outcome {
  const { band, volumeL, beadMassG } = question
  const flowLPerH = question.flowLPerMin * 60
  const saturatedGm3 = saturationDensityGm3(draw.tempC)
  // Films and oil hold water by relative humidity: the loop acts as a larger one.
  const actingL = volumeL * (1 + (draw.sorptionRatio * saturationDensityGm3(15)) / saturatedGm3)
  // Within a run only the films answer; the oil takes hours.
  const quickL = volumeL * (1 + (FILM_SHARE * draw.sorptionRatio * saturationDensityGm3(15)) / saturatedGm3)
  const breathedLPerH = (volumeL * DAY_SWING_K) / (293 * DAY_H)
  const ingressLPerH = draw.leakLPerH + breathedLPerH
  const outsidePct = question.climate.humidityPct
  const settlesPct = (flowLPerH * FRESH_EXIT_PCT + ingressLPerH * outsidePct) / (flowLPerH + ingressLPerH)
  const isRestless = settlesPct >= band.stopPct
  const perH = (flowLPerH + ingressLPerH) / quickL
  const runH = hoursBetween(band.startPct, band.stopPct, settlesPct, perH)
  const restH =
    (Math.log((outsidePct - band.stopPct) / (outsidePct - band.startPct)) * actingL) / ingressLPerH
  // A loop that never rests stays where it settles.
  const meanPct = isRestless ? settlesPct : (band.startPct + band.stopPct) / 2
  const idleGPerH = (ingressLPerH * ((outsidePct - meanPct) / 100) * saturatedGm3) / 1000
  const plateauH =
    (draw.gPerFlight * 1000) / (flowLPerH * ((FLIGHT_AIR_PCT - FRESH_EXIT_PCT) / 100) * saturatedGm3)
  const dryDownH = plateauH + hoursBetween(FLIGHT_AIR_PCT, band.stopPct, settlesPct, perH)
  const flightsPerDay = question.flightEveryDays === null ? 0 : 1 / question.flightEveryDays
  const cells = bedCellCount(beadMassG)
  const spent = runUntilSpent(
    evenCells(cells, draw.beadScale * bakeResidualKgKg(isotherm.kind, 120)),
    { isotherm, cellMassG: beadMassG / cells, scale: draw.beadScale },
    {
      flightsPerDay,
      gPerFlight: draw.gPerFlight,
      idleGPerDay: idleGPerH * DAY_H,
      idlePct: meanPct,
      flightPct: FLIGHT_AIR_PCT,
      bedTempC: draw.tempC,
      stopPct: band.stopPct,
    },
  )
  const cycleH = runH + restH
  const cycleDuty = isRestless ? 1 : runH / cycleH
  const flightDuty = flightsPerDay === 0 ? 0 : (flightsPerDay * dryDownH) / DAY_H
  const duty = Math.min(1, cycleDuty + flightDuty)
  return {
    settlesPct,
    dryDownH,
    runsPerWeek: WEEK_H / cycleH,
    runMin: runH * 60,
    idleGPerWeek: idleGPerH * WEEK_H,
    flightsPerFill: spent.flights,
    daysPerFill: spent.days,
    capacityG: spent.waterG,
    whPerWeek: draw.pumpW * duty * WEEK_H,
    dutyPct: 100 * cycleDuty,
  }
}

const [LOW, MID, HIGH] = [0.1, 0.5, 0.9] as const

function rangesOf(outcomes: readonly Outcome[]) {
  const of = (name: keyof Outcome): readonly number[] => outcomes.map((outcome) => outcome[name])
  return {
    range: (name: keyof Outcome): Interval => {
      const at = (p: number) => quantile(of(name), p) ?? 0
      return { low: at(LOW), mid: at(MID), high: at(HIGH) }
    },
    openRange: (name: keyof Outcome): OpenInterval => {
      const sorted = of(name).toSorted((a, b) => a - b)
      // Between a number and an endless one lies no number.
      const at = (p: number) =>
        Number.isFinite(sorted[Math.ceil(p * (sorted.length - 1))]) ? quantile(sorted, p) : null
      return { low: at(LOW), mid: at(MID), high: at(HIGH) }
    },
  }
}

function refusalOf(question: SizingQuestion): SizingRefusal | null {
  const { band, climate } = question
  const { volumeL, flowLPerMin, beadMassG, flightEveryDays, gPerFlight, leakLPerH, pumpW } = question
  const loop = { volumeL, flowLPerMin, beadMassG, flightEveryDays, gPerFlight, leakLPerH, pumpW }
  const asked: Record<string, number | null> = { ...loop, ...band, ...climate }
  for (const [name, [low, high]] of Object.entries(SIZING_RANGES)) {
    const value = asked[name] ?? null
    if (value !== null && !(value >= low && value <= high))
      return { reason: 'out_of_range', name, value, low, high }
  }
  if (band.startPct <= band.stopPct) return { reason: 'band_upside_down', ...band }
  if (climate.humidityPct <= band.startPct) {
    return { reason: 'climate_in_band', humidityPct: climate.humidityPct, startPct: band.startPct }
  }
  return null
}

const ASSUMED: readonly (readonly [keyof SizingQuestion, string])[] = [
  ['leakLPerH', 'leakage of a well-made loop: 0.8 L/h for 45 L, times or over 2'],
  ['gPerFlight', 'water of a flight: 6 g, times or over 2'],
  ['pumpW', 'pump power: 4 W'],
]

/**
 * What a rig would do: closed forms of the same loop that the simulation runs, with a bed run forward until it is used
 * up, over 64 possible truths about what an owner cannot know. Middle and 80 % range. Within a factor of 2 of the
 * simulation (tested).
 */
export function sizeRig(question: SizingQuestion): SizingResult {
  const refusal = refusalOf(question)
  if (refusal !== null) return { ok: false, ...refusal }
  const kind: BeadKind | null = findBeadKind(question.beadKind)
  if (kind === null) return { ok: false, reason: 'unknown_beads', beadKind: question.beadKind }
  const isotherm = tabulateIsotherm(kind)
  const outcomes = drawsFor(question).map((draw) => outcomeOf(question, isotherm, draw))
  const { range, openRange } = rangesOf(outcomes)
  const neverRests = outcomes.filter(({ runMin }) => !Number.isFinite(runMin))
  const flies = question.flightEveryDays !== null
  const assumed = ASSUMED.flatMap(([name, says]) => (question[name] === null ? [says] : []))
  return {
    ok: true,
    answer: {
      neverRestsShare: neverRests.length / outcomes.length,
      settlesPct: range('settlesPct'),
      dryDownH: flies ? openRange('dryDownH') : null,
      runsPerWeek: range('runsPerWeek'),
      runMin: openRange('runMin'),
      idleGPerWeek: range('idleGPerWeek'),
      flightsPerFill: flies ? range('flightsPerFill') : null,
      daysPerFill: range('daysPerFill'),
      capacityG: range('capacityG'),
      whPerWeek: range('whPerWeek'),
      dutyPct: range('dutyPct'),
      assumed: [...assumed, 'films and oil hold 1.5 times the water of the air, times or over 2.2'],
    },
  }
}
