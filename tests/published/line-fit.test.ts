import { expect, test } from 'vitest'
import { slopeOf, startLine, takePoint } from '../../src/core/stats/line-fit.ts'

/**
 * NIST StRD, linear regression, Norris (calibration of ozone monitors), lower difficulty: x, y. Certified: slope
 * 1.00211681802045, its standard deviation 0.429796848199937e-3. Data from memory; the fit gives the certified digits.
 */
const NORRIS: readonly (readonly [number, number])[] = [
  [0.2, 0.1],
  [337.4, 338.8],
  [118.2, 118.1],
  [884.6, 888.0],
  [10.1, 9.2],
  [226.5, 228.1],
  [666.3, 668.5],
  [996.3, 998.5],
  [448.6, 449.1],
  [777.0, 778.9],
  [558.2, 559.2],
  [0.4, 0.3],
  [0.6, 0.1],
  [775.5, 778.1],
  [666.9, 668.8],
  [338.0, 339.3],
  [447.5, 448.9],
  [11.6, 10.8],
  [556.0, 557.7],
  [228.1, 228.3],
  [995.8, 998.0],
  [887.6, 888.8],
  [120.2, 119.6],
  [0.3, 0.3],
  [0.3, 0.6],
  [556.8, 557.6],
  [339.1, 339.3],
  [887.2, 888.0],
  [999.0, 998.5],
  [779.0, 778.9],
  [11.1, 10.2],
  [118.3, 117.6],
  [229.2, 228.9],
  [669.1, 668.4],
  [448.9, 449.2],
  [0.5, 0.2],
]

test('slope and standard error of NIST Norris, to the six decimals that are kept', () => {
  const sums = startLine()
  for (const [x, y] of NORRIS) takePoint(sums, x, y)
  const slope = slopeOf(sums)
  expect(slope?.mid).toBeCloseTo(1.00211681802045, 8)
  expect(slope?.se).toBeCloseTo(0.429796848199937e-3, 8)
})

test('two points, or many of one x, have no slope', () => {
  const sums = startLine()
  takePoint(sums, 1, 1)
  takePoint(sums, 2, 2)
  expect(slopeOf(sums)).toBeNull()
  const upright = startLine()
  for (const y of [1, 2, 3, 4]) takePoint(upright, 5, y)
  expect(slopeOf(upright)).toBeNull()
})
