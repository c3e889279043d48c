import { describe, expect, test } from 'vitest'
import { cusumStep, ewmaHalfWidth, ewmaStep } from '../../src/core/stats/control-charts.ts'
import { kendallUpperTail, mannKendall } from '../../src/core/stats/mann-kendall.ts'
import { normalQuantile, normalUpperTail } from '../../src/core/stats/normal.ts'
import { theilSen } from '../../src/core/stats/theil-sen.ts'

const SULFATE_X = [
  89.6, 89.8, 90.1, 90.3, 90.6, 90.8, 91.1, 91.3, 91.6, 91.8, 92.1, 92.6, 93.1, 93.6, 94.1, 94.6, 95.1, 95.6,
  95.8, 96.1, 96.3, 96.6, 96.8,
]
const SULFATE_Y = [
  480, 450, 490, 520, 485, 510, 510, 530, 510, 560, 560, 540, 590, 550, 600, 700, 570, 610, 650, 620, 830,
  720, 590,
]
/** Annual flow of the Nile at Aswan 1871-1970, Cobb 1978; R datasets::Nile (from memory; its Kendall sum S comes out as published). */
const NILE = [
  1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958,
  1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020,
  1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040,
  759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890,
  744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]

describe('Mann-Kendall and Theil-Sen', () => {
  test('Hollander and Wolfe, example 9.1: exact tail', () => {
    const xs = [1, 2, 3, 4, 5]
    const ys = [1.26, 1.27, 1.12, 1.16, 1.03]
    const trend = mannKendall(xs, ys)
    expect(trend?.s).toBe(-6)
    expect(trend?.variance).toBeCloseTo(16.666667, 6)
    expect(trend?.z).toBeCloseTo(-1.224745, 6)
    expect(trend?.isExact).toBe(true)
    expect((trend?.pTwoSided ?? 0) / 2).toBeCloseTo(0.116667, 6)
    expect(theilSen(xs, ys)?.slope).toBeCloseTo(-0.05625, 12)
  })

  test('EPA Unified Guidance 2009, example 17-6, sulfate', () => {
    const trend = mannKendall(SULFATE_X, SULFATE_Y)
    expect(trend?.s).toBe(194)
    expect(trend?.variance).toBeCloseTo(1428, 6)
    expect(trend?.z).toBeCloseTo(5.107322, 6)
    expect((trend?.pTwoSided ?? 0) / 3.267574e-7).toBeCloseTo(1, 5)
    const slope = theilSen(SULFATE_X, SULFATE_Y)
    expect(slope?.slope).toBeCloseTo(26.6666667, 6)
    expect(slope?.intercept).toBeCloseTo(-1909.3333, 3)
    expect(slope?.low).toBeCloseTo(20, 5)
    expect(slope?.high).toBeCloseTo(35.71182, 4)
  })

  test('Kendall 1976, example 4.3: ties in both', () => {
    const xs = [1.5, 1.5, 3, 4, 6, 6, 6, 8, 9.5, 9.5, 11, 12]
    const ys = [2.5, 2.5, 7, 4.5, 1, 4.5, 6, 11.5, 11.5, 8.5, 8.5, 10]
    const trend = mannKendall(xs, ys)
    expect(trend?.s).toBe(34)
    expect(trend?.variance).toBeCloseTo(203.303, 3)
    expect(trend?.isExact).toBe(false)
  })

  test('Nile 1871-1970', () => {
    const years = NILE.map((_, i) => 1871 + i)
    const trend = mannKendall(years, NILE)
    expect(trend?.s).toBe(-1387)
    expect(trend?.variance).toBeCloseTo(112_728.3333, 3)
    expect(trend?.z).toBeCloseTo(-4.128067, 6)
    expect((trend?.pTwoSided ?? 0) / 3.658263e-5).toBeCloseTo(1, 5)
    const slope = theilSen(years, NILE)
    expect(slope?.slope).toBeCloseTo(-2.6, 9)
    expect(slope?.low).toBeCloseTo(-3.62793, 4)
    expect(slope?.high).toBeCloseTo(-1.42844, 4)
  })

  // Gilbert 1987 table A18, confirmed by enumeration.
  test.each([
    [3, 3, 0.166667],
    [4, 6, 0.041667],
    [5, 8, 0.041667],
    [6, 11, 0.027778],
    [7, 13, 0.034524],
    [7, 21, 0.000198],
    [8, 16, 0.030506],
    [8, 28, 0.0000248],
    [9, 18, 0.037588],
    [10, 21, 0.036275],
    [10, 27, 0.008333],
  ])('exact tail, n = %d: P(S >= %d)', (n, s, want) => {
    expect(kendallUpperTail(n, s)).toBeCloseTo(want, 6)
  })
})

test('normal distribution: Abramowitz and Stegun, tables 26.1 and 26.5 (from memory)', () => {
  expect(normalUpperTail(1)).toBeCloseTo(0.158655253931457, 14)
  expect(normalUpperTail(3)).toBeCloseTo(0.00134989803163, 13)
  expect(normalUpperTail(5) / 2.866515718791939e-7).toBeCloseTo(1, 10)
  expect(normalUpperTail(-2)).toBeCloseTo(0.977249868051821, 14)
  expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 11)
  expect(normalQuantile(0.1)).toBeCloseTo(-1.2815515655446, 11)
})

test('EWMA, NIST/SEMATECH e-Handbook 6.3.2.4', () => {
  const values = [
    52, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6,
    52.1,
  ]
  const printed = [
    50.6, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38,
    49.92, 50.73, 51.23, 51.94, 51.99,
  ]
  let mean = 50
  const series = values.map((value) => (mean = ewmaStep(mean, value, 0.3)))
  series.forEach((value, i) => expect(Math.abs(value - (printed[i] ?? 0))).toBeLessThan(0.0051))
  expect(series[2]).toBeCloseTo(50.564, 6)
  expect(series[19]).toBeCloseTo(51.988243, 6)
  const chart = { sd: 2.0539, weight: 0.3, reach: 3 }
  expect(50 + ewmaHalfWidth(chart)).toBeCloseTo(52.588432, 6)
  expect(50 - ewmaHalfWidth(chart)).toBeCloseTo(47.411568, 6)
  expect(50 + ewmaHalfWidth({ ...chart, steps: 2 })).toBeCloseTo(52.256394, 6)
})

test('tabular CUSUM, NIST/SEMATECH e-Handbook 6.3.2.3', () => {
  const values = [
    324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15,
    328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
  ]
  let high = 0
  let low = 0
  const highs = values.map((value) => (high = cusumStep(high, value - 325, 0.3175)))
  const lows = values.map((value) => (low = cusumStep(low, 325 - value, 0.3175)))
  const wantHighs = [
    0, 0, 0, 0, 0.0325, 0, 0, 0, 0, 0, 0, 0, 3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035,
  ]
  const wantLows = [
    0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, 0, 0, 0, 0, 0, 0, 0, 0, 0,
  ]
  wantHighs.forEach((want, i) => expect(highs[i]).toBeCloseTo(want, 9))
  wantLows.forEach((want, i) => expect(lows[i]).toBeCloseTo(want, 9))
  expect(highs.findIndex((value) => value > 4.1959) + 1).toBe(14)
})
