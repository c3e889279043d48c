import type { Place } from './inputs.ts'
import type { Rollup } from './outputs.ts'

/** Sums of one open hour or UTC day at one place. */
export type Bucket = {
  fromS: number
  humidityCount: number
  humiditySum: number
  humidityMin: number
  humidityMax: number
  densityCount: number
  densitySum: number
  densityMin: number
  densityMax: number
  tempCount: number
  tempSum: number
  heardS: number
}

export type RollupMemory = { hour: Bucket | null; day: Bucket | null }

export function startRollups(): RollupMemory {
  return { hour: null, day: null }
}

function startBucket(fromS: number): Bucket {
  return {
    fromS,
    humidityCount: 0,
    humiditySum: 0,
    humidityMin: 0,
    humidityMax: 0,
    densityCount: 0,
    densitySum: 0,
    densityMin: 0,
    densityMax: 0,
    tempCount: 0,
    tempSum: 0,
    heardS: 0,
  }
}

/** Values of one reading: % RH as reported, g/m3, degC; and the seconds it was heard for since the one before. */
export type RollupPoint = {
  readonly atS: number
  readonly humidityPct: number | null
  readonly densityGm3: number | null
  readonly tempC: number | null
  readonly heardS: number
}

function add(bucket: Bucket, point: RollupPoint): void {
  const { humidityPct, densityGm3, tempC } = point
  if (humidityPct !== null) {
    const isFirst = bucket.humidityCount === 0
    bucket.humidityCount += 1
    bucket.humiditySum += humidityPct
    bucket.humidityMin = isFirst ? humidityPct : Math.min(bucket.humidityMin, humidityPct)
    bucket.humidityMax = isFirst ? humidityPct : Math.max(bucket.humidityMax, humidityPct)
  }
  if (densityGm3 !== null) {
    const isFirst = bucket.densityCount === 0
    bucket.densityCount += 1
    bucket.densitySum += densityGm3
    bucket.densityMin = isFirst ? densityGm3 : Math.min(bucket.densityMin, densityGm3)
    bucket.densityMax = isFirst ? densityGm3 : Math.max(bucket.densityMax, densityGm3)
  }
  if (tempC !== null) {
    bucket.tempCount += 1
    bucket.tempSum += tempC
  }
  bucket.heardS += Math.min(point.heardS, point.atS - bucket.fromS)
}

function closed(place: Place, spanS: 3600 | 86_400, bucket: Bucket): Rollup {
  const hasHumidity = bucket.humidityCount > 0
  const hasDensity = bucket.densityCount > 0
  return {
    place,
    spanS,
    fromS: bucket.fromS,
    humidityMeanPct: hasHumidity ? bucket.humiditySum / bucket.humidityCount : null,
    humidityMinPct: hasHumidity ? bucket.humidityMin : null,
    humidityMaxPct: hasHumidity ? bucket.humidityMax : null,
    densityMeanGm3: hasDensity ? bucket.densitySum / bucket.densityCount : null,
    densityMinGm3: hasDensity ? bucket.densityMin : null,
    densityMaxGm3: hasDensity ? bucket.densityMax : null,
    tempMeanC: bucket.tempCount > 0 ? bucket.tempSum / bucket.tempCount : null,
    heardMin: Math.round(bucket.heardS / 6) / 10,
  }
}

/** Writes out every bucket of a place that ends at or before `atS`. */
export function closeRollups(memory: RollupMemory, place: Place, atS: number, out: Rollup[]): void {
  if (memory.hour !== null && atS >= memory.hour.fromS + 3600) {
    out.push(closed(place, 3600, memory.hour))
    memory.hour = null
  }
  if (memory.day !== null && atS >= memory.day.fromS + 86_400) {
    out.push(closed(place, 86_400, memory.day))
    memory.day = null
  }
}

/** Takes a reading into its hour and day; a bucket it lies beyond is written out first. */
export function takeRollup(memory: RollupMemory, place: Place, point: RollupPoint, out: Rollup[]): void {
  closeRollups(memory, place, point.atS, out)
  memory.hour ??= startBucket(Math.floor(point.atS / 3600) * 3600)
  memory.day ??= startBucket(Math.floor(point.atS / 86_400) * 86_400)
  add(memory.hour, point)
  add(memory.day, point)
}
