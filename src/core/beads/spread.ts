import type { Interval } from '../fold/outputs.ts'

/** Values in ascending order and the weight of each. */
export type Spread = { readonly values: Float64Array; readonly weights: Float64Array }

/** Weight of the values under one. */
export function shareUnder({ values, weights }: Spread, value: number): number {
  let sum = 0
  for (let at = 0; at < values.length && (values[at] ?? 0) < value; at++) sum += weights[at] ?? 0
  return sum
}

/** 10, 50 and 90 %. */
export function quantiles({ values, weights }: Spread): Interval {
  const at = (share: number): number => {
    let sum = 0
    for (let index = 0; index < values.length; index++) {
      sum += weights[index] ?? 0
      if (sum >= share) return values[index] ?? 0
    }
    return values.at(-1) ?? 0
  }
  return { low: at(0.1), mid: at(0.5), high: at(0.9) }
}

/** Five equal slices of a normal: their means. */
const NODES = [-1.4, -0.532, 0, 0.532, 1.4] as const

/**
 * A member quantity with a relative error beside the members' spread. Sorted by insertion: a hundred numbers are in order
 * before a sort of a hundred objects has begun.
 */
export function spread(
  weights: readonly number[],
  values: readonly number[],
  lnSd: (member: number) => number,
): Spread {
  const size = weights.length * NODES.length
  const sorted = { values: new Float64Array(size), weights: new Float64Array(size) }
  let count = 0
  for (let member = 0; member < weights.length; member++) {
    const sd = lnSd(member)
    for (const node of NODES) {
      const value = (values[member] ?? 0) * Math.exp(node * sd)
      insert(sorted, count++, value, (weights[member] ?? 0) / NODES.length)
    }
  }
  return sorted
}

function insert({ values, weights }: Spread, count: number, value: number, weight: number): void {
  let at = count
  for (; at > 0 && (values[at - 1] ?? 0) > value; at--) {
    values[at] = values[at - 1] ?? 0
    weights[at] = weights[at - 1] ?? 0
  }
  values[at] = value
  weights[at] = weight
}
