/** Fewer points of a trace for a chart, such that no surge is lost: each keeps the extremes of what it stands for. */

export type StripPoint = {
  readonly atS: number
  readonly humidityPct: number | null
  readonly tempC: number | null
  readonly minPct: number | null
  readonly maxPct: number | null
}

type Bucket = {
  atSumS: number
  count: number
  humiditySum: number
  humidityCount: number
  tempSum: number
  tempCount: number
  minPct: number
  maxPct: number
}

/**
 * At most `pointsMax` points over [fromS, toS): as they are if there are no more, else one for each stretch of equal
 * length that holds any. Humidity and temperature are means, the time is the mean time. Sorted input, `pointsMax` >= 1.
 */
export function thin(
  points: readonly StripPoint[],
  span: { readonly fromS: number; readonly toS: number; readonly pointsMax: number },
): readonly StripPoint[] {
  if (points.length <= span.pointsMax) return points
  const widthS = (span.toS - span.fromS) / span.pointsMax
  const thinned: StripPoint[] = []
  let bucket = emptyBucket()
  let index = -1
  for (const point of points) {
    const at = Math.min(span.pointsMax - 1, Math.floor((point.atS - span.fromS) / widthS))
    if (at !== index) {
      if (bucket.count > 0) thinned.push(pointOf(bucket))
      bucket = emptyBucket()
      index = at
    }
    put(bucket, point)
  }
  if (bucket.count > 0) thinned.push(pointOf(bucket))
  return thinned
}

function emptyBucket(): Bucket {
  return {
    atSumS: 0,
    count: 0,
    humiditySum: 0,
    humidityCount: 0,
    tempSum: 0,
    tempCount: 0,
    minPct: Number.POSITIVE_INFINITY,
    maxPct: Number.NEGATIVE_INFINITY,
  }
}

function put(bucket: Bucket, point: StripPoint): void {
  bucket.atSumS += point.atS
  bucket.count++
  if (point.humidityPct !== null) {
    bucket.humiditySum += point.humidityPct
    bucket.humidityCount++
  }
  if (point.tempC !== null) {
    bucket.tempSum += point.tempC
    bucket.tempCount++
  }
  if (point.minPct !== null) bucket.minPct = Math.min(bucket.minPct, point.minPct)
  if (point.maxPct !== null) bucket.maxPct = Math.max(bucket.maxPct, point.maxPct)
}

function pointOf(bucket: Bucket): StripPoint {
  return {
    atS: Math.floor(bucket.atSumS / bucket.count),
    humidityPct: bucket.humidityCount === 0 ? null : round(bucket.humiditySum / bucket.humidityCount),
    tempC: bucket.tempCount === 0 ? null : round(bucket.tempSum / bucket.tempCount),
    minPct: bucket.minPct === Number.POSITIVE_INFINITY ? null : bucket.minPct,
    maxPct: bucket.maxPct === Number.NEGATIVE_INFINITY ? null : bucket.maxPct,
  }
}

/** To the hundredths in which readings are kept. */
function round(value: number): number {
  return Math.round(value * 100) / 100
}
