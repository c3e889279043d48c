/**
 * The drying of one run, rho(t) = f + (rho_peak - f) exp(-k s), s the time weighted by rho_s(T)/rho_s(15 degC).
 * A free fit of three parameters to one short run is ill-posed (k and f trade off, f comes out negative), so the run
 * is summed up once for each candidate k, in constant memory: given k the rest is a straight line. Which k holds is
 * decided over many runs (`drying-pool.ts`).
 */

/** Candidate drying rates at 15 degC, 1/h: each sqrt(2) times the last, so that exp(-k s) follows by squaring. */
export const RATES_PER_H: readonly number[] = Array.from(
  { length: 13 },
  (_, index) => 0.25 * Math.SQRT2 ** index,
)
const COUNT = RATES_PER_H.length
const FIRST_PER_H = RATES_PER_H[0] ?? 0.25
const SECOND_PER_H = RATES_PER_H[1] ?? 0.35

export type DryingSums = {
  n: number
  /** Weighted time since the peak at the last point, h. */
  scaledH: number
  lastScaledH: number
  y: number
  yy: number
  /** Sums of e, e^2 and y e for each candidate, e = exp(-k s). */
  e: number[]
  ee: number[]
  ye: number[]
}

const zeros = (): number[] => RATES_PER_H.map(() => 0)

export function startDrying(): DryingSums {
  return { n: 0, scaledH: 0, lastScaledH: 0, y: 0, yy: 0, e: zeros(), ee: zeros(), ye: zeros() }
}

/** Takes over all sums of another. */
export function copyDrying(from: DryingSums, to: DryingSums): void {
  to.n = from.n
  to.scaledH = from.scaledH
  to.lastScaledH = from.lastScaledH
  to.y = from.y
  to.yy = from.yy
  for (let index = 0; index < COUNT; index++) {
    to.e[index] = from.e[index] ?? 0
    to.ee[index] = from.ee[index] ?? 0
    to.ye[index] = from.ye[index] ?? 0
  }
}

/** Starts again at a new peak. */
export function resetDrying(sums: DryingSums): void {
  sums.n = 0
  sums.scaledH = 0
  sums.lastScaledH = 0
  sums.y = 0
  sums.yy = 0
  sums.e.fill(0)
  sums.ee.fill(0)
  sums.ye.fill(0)
}

function add(sums: DryingSums, index: number, decay: number, densityGm3: number): void {
  sums.e[index] = (sums.e[index] ?? 0) + decay
  sums.ee[index] = (sums.ee[index] ?? 0) + decay * decay
  sums.ye[index] = (sums.ye[index] ?? 0) + densityGm3 * decay
}

/** Adds a point `hours` after the one before, with `scale` = rho_s(T)/rho_s(15 degC). */
export function addDrying(sums: DryingSums, hours: number, scale: number, densityGm3: number): void {
  if (sums.n > 0) sums.scaledH += hours * scale
  sums.lastScaledH = sums.scaledH
  sums.n += 1
  sums.y += densityGm3
  sums.yy += densityGm3 * densityGm3
  let even = Math.exp(-FIRST_PER_H * sums.scaledH)
  let odd = Math.exp(-SECOND_PER_H * sums.scaledH)
  for (let index = 0; index < COUNT; index += 2) {
    add(sums, index, even, densityGm3)
    even *= even
    if (index + 1 < COUNT) {
      add(sums, index + 1, odd, densityGm3)
      odd *= odd
    }
  }
}

/** The best line for one candidate: floor and its standard error, g/m3, and the squared misfit. */
export type DryingLine = { floorGm3: number; floorVariance: number; rss: number }

const POINTS_MIN = 4

/**
 * The straight line y = f + A e for each candidate rate, with 0 <= f. `null` while there are fewer than four points.
 * `sigmaGm3` is the noise of one point: it floors the misfit, so that a lucky short run does not claim certainty.
 */
export function dryingLines(sums: DryingSums, sigmaGm3: number): DryingLine[] | null {
  const { n } = sums
  if (n < POINTS_MIN) return null
  const lines: DryingLine[] = []
  for (let index = 0; index < COUNT; index++) {
    const e = sums.e[index] ?? 0
    const ee = sums.ee[index] ?? 0
    const ye = sums.ye[index] ?? 0
    const spread = ee - (e * e) / n
    if (spread < 1e-6 * n) {
      // Over before the first point, or not begun: this rate says nothing about the run.
      lines.push({ floorGm3: sums.y / n, floorVariance: Number.MAX_VALUE, rss: Number.MAX_VALUE })
      continue
    }
    const slope = (ye - (sums.y * e) / n) / spread
    const free = (sums.y - slope * e) / n
    const floorGm3 = Math.max(0, free)
    const amplitude = free >= 0 ? slope : ye / ee
    const rss =
      sums.yy -
      2 * (floorGm3 * sums.y + amplitude * ye) +
      n * floorGm3 * floorGm3 +
      2 * floorGm3 * amplitude * e +
      amplitude * amplitude * ee
    const variance = Math.max(sigmaGm3 * sigmaGm3, Math.max(0, rss) / Math.max(1, n - 2))
    lines.push({ floorGm3, floorVariance: (variance * ee) / (n * spread), rss: Math.max(0, rss) })
  }
  return lines
}
