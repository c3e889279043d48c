import { normalUpperTail } from './normal.ts'

/** Up to here the exact distribution of S is used where there are no ties: the normal form is off by 10 % at n = 10. */
const EXACT_MAX = 30

/** Pairs grow with the square: a thousand points are half a million pairs, a few milliseconds. */
export const TREND_POINTS_MAX = 1000

export type Trend = {
  /** Kendall's score: concordant less discordant pairs. */
  readonly s: number
  readonly variance: number
  /** With continuity correction; 0 if S is 0. */
  readonly z: number
  readonly pTwoSided: number
  /** Whether the tail is exact (few points, no ties) or normal. */
  readonly isExact: boolean
}

/** Sizes of the groups of equal values. */
function tieSizes(values: readonly number[]): number[] {
  const counts = new Map<number, number>()
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1)
  return [...counts.values()].filter((size) => size > 1)
}

function sumOver(sizes: readonly number[], term: (size: number) => number): number {
  return sizes.reduce((sum, size) => sum + term(size), 0)
}

const pairs = (t: number) => t * (t - 1)
const triples = (t: number) => t * (t - 1) * (t - 2)
const full = (t: number) => t * (t - 1) * (2 * t + 5)

/** Variance of S with ties in both variables (Kendall, Rank Correlation Methods, 1976). */
function varianceOfS(n: number, xTies: readonly number[], yTies: readonly number[]): number {
  let variance = (full(n) - sumOver(xTies, full) - sumOver(yTies, full)) / 18
  if (n > 2) variance += (sumOver(xTies, triples) * sumOver(yTies, triples)) / (9 * triples(n))
  return variance + (sumOver(xTies, pairs) * sumOver(yTies, pairs)) / (2 * pairs(n))
}

/**
 * P(S >= s) for n points in random order without ties: the share of permutations, counted by inversions.
 * Kendall 1976; Gilbert 1987 table A18.
 */
export function kendallUpperTail(n: number, s: number): number {
  const most = pairs(n) / 2
  let share = [1]
  for (let k = 2; k <= n; k++) {
    const next: number[] = Array.from({ length: (k * (k - 1)) / 2 + 1 }, () => 0)
    share.forEach((value, inversions) => {
      for (let more = 0; more < k; more++)
        next[inversions + more] = (next[inversions + more] ?? 0) + value / k
    })
    share = next
  }
  // S = all pairs - 2 inversions.
  return share.reduce((sum, value, inversions) => sum + (most - 2 * inversions >= s ? value : 0), 0)
}

/**
 * Mann-Kendall test for a monotone trend of `ys` over `xs` (same length, 3..1000 points, else `null`).
 * Tie-corrected; exact tails for up to 30 points without ties. It supposes independent values: hourly weather is not.
 */
export function mannKendall(xs: readonly number[], ys: readonly number[]): Trend | null {
  const n = xs.length
  if (n !== ys.length || n < 3 || n > TREND_POINTS_MAX) return null
  let s = 0
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      s += Math.sign((xs[j] ?? 0) - (xs[i] ?? 0)) * Math.sign((ys[j] ?? 0) - (ys[i] ?? 0))
    }
  }
  const xTies = tieSizes(xs)
  const yTies = tieSizes(ys)
  const variance = varianceOfS(n, xTies, yTies)
  // All values equal: no trend can show.
  const z = variance > 0 ? (s - Math.sign(s)) / Math.sqrt(variance) : 0
  const isExact = n <= EXACT_MAX && xTies.length === 0 && yTies.length === 0
  const tail = isExact ? kendallUpperTail(n, Math.abs(s)) : normalUpperTail(Math.abs(z))
  return { s, variance, z, pTwoSided: Math.min(1, 2 * tail), isExact }
}
