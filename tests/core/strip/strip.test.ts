import { expect, test } from 'vitest'
import { gapMaxS, gapsIn, outside, runsIn } from '../../../src/core/strip/stretches.ts'
import { thin } from '../../../src/core/strip/thin.ts'

const point = (atS: number, pct: number | null) => ({
  atS,
  humidityPct: pct,
  tempC: null,
  minPct: pct,
  maxPct: pct,
})

test('few points stay as they are', () => {
  const points = [point(0, 9), point(300, 10)]
  expect(thin(points, { fromS: 0, toS: 600, pointsMax: 2 })).toBe(points)
})

test('thinning keeps every extreme and the mean, and never exceeds the number asked for', () => {
  const points = Array.from({ length: 1000 }, (_, i) => point(i * 60, i === 417 ? 98 : i === 640 ? 3 : 10))
  const thinned = thin(points, { fromS: 0, toS: 60_000, pointsMax: 37 })
  expect(thinned).toHaveLength(37)
  expect(Math.max(...thinned.map((p) => p.maxPct ?? 0))).toBe(98)
  expect(Math.min(...thinned.map((p) => p.minPct ?? 100))).toBe(3)
  expect(thinned.map((p) => p.atS)).toEqual(thinned.map((p) => p.atS).toSorted((a, b) => a - b))
})

test('a point without humidity does not become a zero', () => {
  const points = [point(0, null), point(1, null), point(2, 8)]
  expect(thin(points, { fromS: 0, toS: 3, pointsMax: 1 })).toEqual([
    { atS: 1, humidityPct: 8, tempC: null, minPct: 8, maxPct: 8 },
  ])
  expect(thin(points.slice(0, 2), { fromS: 0, toS: 3, pointsMax: 1 })[0]).toMatchObject({
    humidityPct: null,
    minPct: null,
  })
})

test('a gap is what is longer than three usual spacings, and never under 20 minutes', () => {
  const times = Array.from({ length: 100 }, (_, i) => i * 60)
  expect(gapMaxS(times, 60)).toBe(1200)
  expect(
    gapMaxS(
      Array.from({ length: 100 }, (_, i) => i * 600),
      300,
    ),
  ).toBe(1800)
  expect(gapMaxS([0, 300, 10_000], 300)).toBe(1200)
  expect(gapsIn([100, 400, 5000], { fromS: 0, toS: 9000 }, 1200)).toEqual([
    { fromS: 400, toS: 5000 },
    { fromS: 5000, toS: 9000 },
  ])
})

const reports = (text: string) =>
  text
    .split('')
    .map((c, i) => ({ atS: i * 300, pumpOn: c === 'x' }))
    .filter((_, i) => text[i] !== '_')

test('a run lasts from on to off, and a gap ends it at the last report', () => {
  expect(runsIn(reports('..xx..x'), 1200)).toEqual([
    { fromS: 600, toS: 1200 },
    { fromS: 1800, toS: 1800 },
  ])
  expect(runsIn(reports('xx_____xx.'), 1200)).toEqual([
    { fromS: 0, toS: 300 },
    { fromS: 2100, toS: 2700 },
  ])
})

test('what no known stretch overlaps is left, however they interleave', () => {
  const known = [
    { fromS: 10, toS: 20 },
    { fromS: 40, toS: 50 },
  ]
  const seen = [
    { fromS: 0, toS: 10 },
    { fromS: 12, toS: 25 },
    { fromS: 20, toS: 40 },
    { fromS: 45, toS: 46 },
    { fromS: 60, toS: 61 },
  ]
  expect(outside(seen, known)).toEqual([
    { fromS: 0, toS: 10 },
    { fromS: 20, toS: 40 },
    { fromS: 60, toS: 61 },
  ])
  expect(outside(seen, [])).toEqual(seen)
})
