import { rounded } from './rounded.ts'

/** A straight line through points that come one by one: count, means, and sums of squares and products about them. */
export type LineSums = [count: number, meanX: number, meanY: number, xx: number, xy: number, yy: number]

export const startLine = (): LineSums => [0, 0, 0, 0, 0, 0]

/** Decimals kept: the sums are stored as text, and a slope of humidities needs no more. */
const DECIMALS = 6

/** Takes a point. Welford's update: no sum of large squares is ever subtracted from another. */
export function takePoint(sums: LineSums, x: number, y: number): void {
  const count = sums[0] + 1
  const offX = x - sums[1]
  const offY = y - sums[2]
  const kept = (count - 1) / count
  sums[0] = count
  sums[1] = rounded(sums[1] + offX / count, DECIMALS)
  sums[2] = rounded(sums[2] + offY / count, DECIMALS)
  sums[3] = rounded(sums[3] + kept * offX * offX, DECIMALS)
  sums[4] = rounded(sums[4] + kept * offX * offY, DECIMALS)
  sums[5] = rounded(sums[5] + kept * offY * offY, DECIMALS)
}

/** Moves all points by so much in y: the sums about their mean stay. */
export function shiftLine(sums: LineSums, byY: number): void {
  if (sums[0] > 0) sums[2] = rounded(sums[2] + byY, DECIMALS)
}

/** Slope of the least-squares line and its standard error; `null` for under three points or all of one x. */
export function slopeOf([count, , , xx, xy, yy]: LineSums): {
  readonly mid: number
  readonly se: number
} | null {
  if (count < 3 || !(xx > 0)) return null
  const mid = xy / xx
  return { mid, se: Math.sqrt(Math.max(0, yy - mid * xy) / (count - 2) / xx) }
}
