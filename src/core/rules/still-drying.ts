import { heldSaturationGm3 } from '../air/held-saturation.ts'
import { isPreheated, returnPct } from './drying.ts'
import type { Moment, Sample } from './rule.ts'
import { switchingTimeS } from './wet-and-idle.ts'

const HOUR_S = 3600

/**
 * Air that rests below `stop` gets no drier: walls, oil and hangar only give to it. What cools loses density and gains RH, what
 * warms the other way, and the engine's metal lags behind by hours; air that has come down to half in all of these, RH, density
 * and RH at the metal, has lost water. Counted from where the slowest outlet would have stopped the pump.
 */
const FELL_TO = 0.5
const HELD_S = HOUR_S
/** Even a hangar without any water could take only as much as the engine exchanges with it: the rig's own, or what is usual, 1/h. */
const USUAL_PER_H = 0.03
/** An engine that cools from a flight takes the box's air along: after two of its time constants a few degrees are left, s. */
const COOLING_S = 12 * HOUR_S

/**
 * A strong pump has the air at the beads' own dryness before that. It then stands, where a box at rest is lifted by its hangar: a third
 * of what the tightest engine lets in, or this one, is left for weather and for what is wrong about the hangar.
 */
const LEAST_PER_H = 0.002
const MOST_PER_H = 0.05
const LIFT_SHARE = 1 / 3
const LIFT_FOR_S = 8 * HOUR_S
/** It has to be this share of what stands there to show beside the temperature of the day. */
const LIFT_OF_AIR = 0.3
/** A hangar that nobody measures may be as dry as the band, in a desert; air at half of `stop` and of its mean is not the hangar's. */
const DRY_SHARE = 0.5
/** A rise by this in all measures is water that came in, beside noise. */
const RISE = 1.15

/**
 * Far below where any of this rig's rests has begun, the outlet has not been late as it is at times: the pump ran on. Whether it still does,
 * the hangar tells as above; but such a lapse is rare, so that the third need not be what shows beside the day: what the rig usually lets in has
 * to show, and none of it does. The least of the last cycles, where four are known: an outlet that polls is late anew in each of them.
 */
const LOWS_MIN = 4
const LOWS_MAX = 8
const DEEP_FOR_S = 6 * HOUR_S

/** What is lifted, or is not, is the mean of an hour: of single readings the lowest and the highest are the noise's. */
const MEAN_OF_S = HOUR_S

type Air = { atS: number; pct: number; gm3: number; metal: number }

type Mean = { atS: number; pct: number; gm3: number }

export type StillDrying = {
  /** Since when every reading is below `stop`, s. */
  belowS: number | null
  /** The air at the time by which the pump had to be off. */
  from: Air | null
  last: Air | null
  /** Largest fall between two readings since, as the share that was left: a sensor that was changed, or a pot it was put into. */
  stepTo: number
  hasRisen: boolean
  fellSinceS: number | null
  /** The hour as far as it has come: since when, how many readings, and their sums. */
  hour: { fromS: number; count: number; pct: number; gm3: number } | null
  /** The last mean, the driest, the wettest after it, and what a closed box would have gained meanwhile. */
  mean: Mean | null
  low: Mean | null
  topPct: number
  topGm3: number
  liftPct: number
  liftGm3: number
  /** The lowest reading since the air was last at `start`, and those of the cycles before, % RH. */
  lowestPct: number | null
  lowsPct: number[]
}

export const startStillDrying = (): StillDrying => ({
  belowS: null,
  from: null,
  last: null,
  stepTo: 1,
  hasRisen: false,
  fellSinceS: null,
  hour: null,
  mean: null,
  low: null,
  topPct: 0,
  topGm3: 0,
  liftPct: 0,
  liftGm3: 0,
  lowestPct: null,
  lowsPct: [],
})

function startBelow(memory: StillDrying): void {
  const { lowestPct, lowsPct } = memory
  Object.assign(memory, startStillDrying(), { lowestPct, lowsPct })
}

/** What has been seen of this rest; the cycles before it are kept. */
export function forgetStillDrying(memory: StillDrying): void {
  startBelow(memory)
  memory.lowestPct = null
}

/** A cycle ends where the air is at `start` again: how dry was it? One that did not come near `stop` was the weather's. */
function takeLowest(memory: StillDrying, pct: number, { band, switchTolPct }: Moment['settings']): void {
  memory.lowestPct = Math.min(pct, memory.lowestPct ?? pct)
  if (pct < band.startPct - switchTolPct) return
  if (memory.lowestPct <= band.stopPct + switchTolPct) memory.lowsPct.push(memory.lowestPct)
  if (memory.lowsPct.length > LOWS_MAX) memory.lowsPct.shift()
  memory.lowestPct = null
}

/** Share of the water that is left of `before`, at most, where the reading may be off by `errorPct`, % RH. */
function leftOf(before: Air, now: Air, offPct = 0): number {
  const left = Math.max(now.pct / before.pct, now.gm3 / before.gm3, now.metal / before.metal)
  return left * (1 + offPct / now.pct)
}

/** Noise and step of two readings that differ, % RH. */
const errorPct = ({ sensor }: Moment): number => 3 * sensor.sigmaPct + sensor.stepPct

function airOf(sample: Sample, pct: number, { metalTempC }: Moment): Air | null {
  const { atS, densityGm3, tempC } = sample
  if (densityGm3 === null) return null
  // A reported 0 is no value to divide by.
  const gm3 = Math.max(1e-3, densityGm3)
  const metalC = tempC === null ? null : metalTempC
  const metal = metalC === null ? gm3 : gm3 / heldSaturationGm3(metalC)
  return { atS, pct: Math.max(0.1, pct), gm3, metal }
}

function startLow(memory: StillDrying, air: Mean): void {
  memory.low = air
  memory.topPct = air.pct
  memory.topGm3 = air.gm3
  memory.liftPct = 0
  memory.liftGm3 = 0
}

/** What the hangar would have brought since the mean before, at the least. */
function lift(memory: StillDrying, air: Mean, moment: Moment): void {
  const hours = (air.atS - (memory.mean?.atS ?? air.atS)) / HOUR_S
  const perH = Math.min(MOST_PER_H, Math.max(LEAST_PER_H, moment.lambdaRefPerH ?? 0))
  memory.liftPct += LIFT_SHARE * perH * hours * Math.max(0, (moment.ambientPct ?? 0) - air.pct)
  memory.liftGm3 += LIFT_SHARE * perH * hours * Math.max(0, (moment.ambientGm3 ?? 0) - air.gm3)
}

function followLow(memory: StillDrying, air: Mean, moment: Moment): void {
  // Another hour of the same dryness is no new beginning: a colder night alone takes off as much.
  if (memory.low === null || air.pct < memory.low.pct / RISE - moment.sensor.sigmaPct) {
    startLow(memory, air)
    return
  }
  lift(memory, air, moment)
  memory.topPct = Math.max(memory.topPct, air.pct)
  memory.topGm3 = Math.max(memory.topGm3, air.gm3)
  const { low } = memory
  const isRise = air.pct >= RISE * low.pct + errorPct(moment) && air.gm3 >= RISE * low.gm3
  if (isRise) memory.hasRisen = true
}

function takeHour(memory: StillDrying, { atS, pct, gm3 }: Air, moment: Moment): void {
  const hour = memory.hour ?? { fromS: atS, count: 0, pct: 0, gm3: 0 }
  hour.count += 1
  hour.pct += pct
  hour.gm3 += gm3
  memory.hour = hour
  if (atS - hour.fromS < MEAN_OF_S) return
  const mean = { atS, pct: hour.pct / hour.count, gm3: hour.gm3 / hour.count }
  followLow(memory, mean, moment)
  memory.mean = mean
  memory.hour = null
}

/** Whether the air cannot be the hangar's. */
function isDrierThanHangar(air: Air, { ambientPct, ambientGm3, isAmbientMeasured }: Moment): boolean {
  if (ambientPct === null || ambientGm3 === null) return false
  return air.pct < (isAmbientMeasured ? 1 : DRY_SHARE) * ambientPct && air.gm3 < ambientGm3
}

function hasFallen(memory: StillDrying, from: Air, air: Air, moment: Moment): boolean {
  const perH = moment.isAmbientMeasured ? 0 : (moment.lambdaRefPerH ?? USUAL_PER_H)
  const hours = (air.atS - from.atS) / HOUR_S
  const driedTo = Math.exp(-Math.max(0, perH) * hours)
  const isBeyondNoise = from.pct - air.pct >= 2 * errorPct(moment)
  return isBeyondNoise && leftOf(from, air) <= FELL_TO * driedTo * memory.stepTo
}

function followFall(memory: StillDrying, air: Air, moment: Moment): void {
  const { from, last } = memory
  if (from === null) return
  if (last !== null) memory.stepTo = Math.min(memory.stepTo, leftOf(last, air, errorPct(moment)))
  const isFallen = !memory.hasRisen && hasFallen(memory, from, air, moment)
  memory.fellSinceS = isFallen ? (memory.fellSinceS ?? air.atS) : null
}

/** An engine that cools, after a flight or a preheat, or one whose air nobody has seen moved since. */
function isCooling(moment: Moment): boolean {
  return isPreheated(moment) || (moment.wettedAtS !== null && moment.atS - moment.wettedAtS < COOLING_S)
}

/** Takes the readings of a rig whose pump is taken to rest by its air alone. */
export function followStillDrying(memory: StillDrying, moment: Moment): void {
  for (const sample of moment.fresh) {
    const pct = returnPct(sample)
    const air = pct === null ? null : airOf(sample, pct, moment)
    if (air === null) continue
    takeLowest(memory, air.pct, moment.settings)
    if (air.pct >= moment.settings.band.stopPct) {
      startBelow(memory)
      continue
    }
    memory.belowS ??= air.atS
    if (air.atS - memory.belowS < switchingTimeS(moment)) continue
    if (memory.from === null && !isCooling(moment) && sample.tempC !== null) memory.from = air
    takeHour(memory, air, moment)
    followFall(memory, air, moment)
    memory.last = air
  }
}

/** No lift in air that is drier, by more than noise, than at the end of any cycle before. */
function isDeep({ low, lowsPct, ...memory }: StillDrying, moment: Moment): boolean {
  if (low === null || lowsPct.length < LOWS_MIN || moment.atS - low.atS < DEEP_FOR_S) return false
  const deepPct = Math.min(moment.settings.band.stopPct, ...lowsPct) - errorPct(moment)
  if (memory.topPct > deepPct) return false
  const usualPct = memory.liftPct / LIFT_SHARE
  if (usualPct < Math.max(errorPct(moment), LIFT_OF_AIR * low.pct)) return false
  return memory.topPct - low.pct < memory.liftPct && memory.topGm3 - low.gm3 < memory.liftGm3
}

function isStanding({ low, ...memory }: StillDrying, moment: Moment): boolean {
  if (low === null || moment.atS - low.atS < LIFT_FOR_S) return false
  const { band, switchTolPct } = moment.settings
  const farPct = moment.isAmbientMeasured ? band.stopPct - switchTolPct : DRY_SHARE * band.stopPct
  if (memory.topPct > farPct || memory.liftPct < Math.max(errorPct(moment), LIFT_OF_AIR * low.pct))
    return false
  return memory.topPct - low.pct < memory.liftPct && memory.topGm3 - low.gm3 < memory.liftGm3
}

/** Whether the air shows that a pump which nobody reports runs on below `stop`. */
export function isStillDrying(memory: StillDrying, moment: Moment): boolean {
  const { last, fellSinceS } = memory
  if (last === null || !isDrierThanHangar(last, moment)) return false
  const hasFallenLong = fellSinceS !== null && last.atS - fellSinceS >= HELD_S
  return hasFallenLong || isStanding(memory, moment) || isDeep(memory, moment)
}
