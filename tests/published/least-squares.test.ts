import { describe, expect, test } from 'vitest'
import { fitLeastSquares } from '../../src/core/stats/least-squares.ts'

/** NIST StRD non-linear regression, certified values; budget: 6 significant digits, 5 for standard deviations. */
function expectDigits(got: readonly number[], want: readonly number[], digits: number) {
  expect(got.length).toBe(want.length)
  want.forEach((value, i) => expect(Math.abs((got[i] ?? Number.NaN) / value - 1)).toBeLessThan(10 ** -digits))
}

const risingExponential = ([top, rate]: readonly number[], x: number) =>
  (top ?? 0) * (1 - Math.exp(-(rate ?? 0) * x))

const BOX_BOD = { xs: [1, 2, 3, 5, 7, 10], ys: [109, 149, 149, 191, 213, 224] }
const MISRA_1A = {
  xs: [77.6, 114.9, 141.1, 190.8, 239.9, 289, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760],
  ys: [10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.4, 75.47, 81.78],
}
const MGH17_Y = [
  0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.85, 0.818, 0.784, 0.751, 0.718, 0.685, 0.658, 0.628,
  0.603, 0.58, 0.558, 0.538, 0.522, 0.506, 0.49, 0.478, 0.467, 0.457, 0.448, 0.438, 0.431, 0.424, 0.42, 0.414,
  0.411, 0.406,
]

describe('NIST StRD', () => {
  test.each([
    ['start 1', [1, 1]],
    ['start 2', [100, 0.75]],
  ])('BoxBOD, %s', (_, start) => {
    const result = fitLeastSquares({
      ...BOX_BOD,
      predict: risingExponential,
      starts: [start],
      positive: [true, true],
    })
    if (!result.ok) throw new Error(result.reason)
    expectDigits(result.fit.parameters, [213.80940889, 0.54723748542], 6)
    expectDigits(result.fit.sds, [12.354515176, 0.10455993237], 5)
    expectDigits([result.fit.residualSumSquares, result.fit.residualSd], [1168.0088766, 17.088072423], 6)
  })

  test.each([
    ['start 1', [500, 1e-4]],
    ['start 2', [250, 5e-4]],
  ])('Misra1a, %s', (_, start) => {
    const result = fitLeastSquares({
      ...MISRA_1A,
      predict: risingExponential,
      starts: [start],
      positive: [true, true],
    })
    if (!result.ok) throw new Error(result.reason)
    expectDigits(result.fit.parameters, [238.94212918, 5.5015643181e-4], 6)
    expectDigits(result.fit.sds, [2.7070075241, 7.2668688436e-6], 5)
    expectDigits([result.fit.residualSumSquares], [0.12455138894], 6)
  })

  test.each([
    ['start 1', [50, 150, -100, 1, 2]],
    ['start 2', [0.5, 1.5, -1, 0.01, 0.02]],
  ])('MGH17, %s with a grid of rates beside', (name, start) => {
    const rates = [0.005, 0.01, 0.02, 0.04, 0.08]
    const grid = rates.flatMap((slow) =>
      rates.filter((fast) => fast > slow).map((fast) => [0.4, 1, -1, slow, fast]),
    )
    const result = fitLeastSquares({
      xs: MGH17_Y.map((_, i) => 10 * i),
      ys: MGH17_Y,
      predict: ([b1, b2, b3, b4, b5], x) =>
        (b1 ?? 0) + (b2 ?? 0) * Math.exp(-x * (b4 ?? 0)) + (b3 ?? 0) * Math.exp(-x * (b5 ?? 0)),
      // The certified start 1 is where plain solvers get lost: this is what the grid is for.
      starts: name === 'start 1' ? [start, ...grid] : [start],
      positive: [false, false, false, true, true],
    })
    if (!result.ok) throw new Error(result.reason)
    expectDigits(
      result.fit.parameters,
      [0.37541005211, 1.9358469127, -1.4646871366, 0.01286753464, 0.022122699662],
      5,
    )
    expectDigits([result.fit.residualSumSquares], [5.4648946975e-5], 6)
  })

  test('DanWood', () => {
    const result = fitLeastSquares({
      xs: [1.309, 1.471, 1.49, 1.565, 1.611, 1.68],
      ys: [2.138, 3.421, 3.597, 4.34, 4.882, 5.66],
      predict: ([b1, b2], x) => (b1 ?? 0) * x ** (b2 ?? 0),
      starts: [[1, 5]],
    })
    if (!result.ok) throw new Error(result.reason)
    expectDigits(result.fit.parameters, [0.76886226176, 3.8604055871], 6)
    expectDigits([result.fit.residualSumSquares], [0.0043173084083], 6)
  })
})
