import { describe, expect, test } from 'vitest'
import { correctPct, correctionOf, correctionSigmaPct } from '../../../src/core/sensor/correction.ts'
import { type SaltCheck, type SensorPoint, judgeSaltCheck } from '../../../src/core/sensor/salt-check.ts'
import { saltNamed, saltPoint } from '../../../src/core/sensor/salt-points.ts'

const HOUR = 3600
const last = (humidities: readonly number[], tempsC: readonly number[]) =>
  humidities.map((humidityPct, i) => ({
    atS: 12 * HOUR - (humidities.length - 1 - i) * 900,
    humidityPct,
    tempC: tempsC[i] ?? null,
  }))
const check = (change: Partial<SaltCheck> = {}): SaltCheck => ({
  salt: 'LiCl',
  fromS: 0,
  untilS: 12 * HOUR,
  shownPct: 13.1,
  tempC: 22,
  stepPct: 0.1,
  last: last([13.1, 13.2, 13.1, 13.0, 13.1, 13.1, 13.2, 13.1], [22, 22, 22.1, 22, 22, 22, 22, 22]),
  ...change,
})

describe('salt check', () => {
  test('a steady one gives the published point at its temperature', () => {
    const result = judgeSaltCheck(check())
    if (!result.ok) throw new Error(result.reason)
    expect(result.point).toMatchObject({ atS: 12 * HOUR, shownPct: 13.1 })
    expect(result.point.truePct).toBeCloseTo(11.31, 2)
    expect(result.point.sigmaPct).toBeGreaterThan(0.15)
    expect(result.point.sigmaPct).toBeLessThan(0.6)
  })

  test.each<[string, Partial<SaltCheck>, string]>([
    ['shorter than 8 h', { fromS: 5 * HOUR }, 'too_short'],
    ['ends before it begins', { fromS: 13 * HOUR }, 'too_short'],
    ['colder than the table', { tempC: 2 }, 'temperature_out_of_range'],
    ['no number', { tempC: Number.NaN }, 'temperature_out_of_range'],
    ['still creeping', { last: last([13.6, 13.5, 13.4, 13.3, 13.2, 13.1], []) }, 'not_steady'],
    [
      'the shed warms up',
      { last: last([13.1, 13.1, 13.1, 13.1, 13.1, 13.1, 13.1], [20, 20.2, 20.4, 20.6, 20.8, 21, 21.2]) },
      'temperature_drifts',
    ],
    ['the wrong salt', { shownPct: 34 }, 'too_far_off'],
    ['not a number', { shownPct: Number.NaN }, 'too_far_off'],
  ])('%s is refused', (_, change, reason) => {
    expect(judgeSaltCheck(check(change))).toMatchObject({ ok: false, reason })
  })

  test('a coarse sensor may flip one step either way', () => {
    const coarse = check({ stepPct: 1, shownPct: 13, last: last([12, 13, 13, 14, 13, 13], []) })
    expect(judgeSaltCheck(coarse).ok).toBe(true)
  })

  test('readings before the last two hours do not count', () => {
    const early = { atS: 9 * HOUR, humidityPct: 40, tempC: 22 }
    expect(judgeSaltCheck(check({ last: [early, ...check().last] })).ok).toBe(true)
  })

  test('a salt is known by name however written', () => {
    expect(saltNamed(' licl ')).toBe('LiCl')
    expect(saltNamed('KOH')).toBeNull()
    expect(saltPoint('NaCl', 60)).toBeNull()
  })
})

const point = (shownPct: number, truePct: number, atS = 0, sigmaPct = 0.4): SensorPoint => ({
  shownPct,
  truePct,
  atS,
  sigmaPct,
})
const now = { atS: 0, soakedAtS: null }

describe('correction', () => {
  test('without a check nothing is changed and little is known', () => {
    const { correction } = correctionOf([])
    expect(correctPct(correction, 8)).toBe(8)
    expect(correctionSigmaPct(correction, { ...now, humidityPct: 8 })).toBe(2)
  })

  test('one point is an offset', () => {
    const { correction } = correctionOf([point(13.1, 11.3)])
    expect(correctPct(correction, 8)).toBeCloseTo(6.2, 9)
    expect(correctPct(correction, 1)).toBe(0)
    expect(correctPct(correction, 100)).toBeCloseTo(98.2, 9)
  })

  test('two points are a line, in whatever order they were taken', () => {
    for (const points of [
      [point(13, 11, 1), point(34, 33, 2)],
      [point(34, 33, 1), point(13, 11, 2)],
    ]) {
      const { correction, refusal } = correctionOf(points)
      expect(refusal).toBeNull()
      expect(correctPct(correction, 13)).toBeCloseTo(11, 9)
      expect(correctPct(correction, 34)).toBeCloseTo(33, 9)
      expect(correctPct(correction, 6)).toBeCloseTo(11 - (7 * 22) / 21, 9)
    }
  })

  test('a line extrapolates below its lower point, and says how badly', () => {
    const { correction } = correctionOf([point(11.3, 11.3, 0, 0.6), point(32.8, 32.8, 0, 0.6)])
    const at = (humidityPct: number) => correctionSigmaPct(correction, { ...now, humidityPct })
    expect(at(11.3)).toBeCloseTo(0.6, 9)
    expect(at(22.05)).toBeCloseTo(0.6 / Math.SQRT2, 9)
    // sigma^2 = sa^2 ((x - xb)/(xa - xb))^2 + sb^2 ((x - xa)/(xb - xa))^2
    expect(at(6)).toBeCloseTo(0.6 * Math.hypot(26.8 / 21.5, 5.3 / 21.5), 9)
    expect(at(6)).toBeGreaterThan(0.75)
  })

  test('two low points close together stay an offset, with the reason', () => {
    const { correction, refusal } = correctionOf([point(13, 11.3, 1), point(20, 18, 2)])
    expect(correction).toMatchObject({ kind: 'offset', point: { shownPct: 20 } })
    expect(refusal).toMatchObject({ reason: 'points_too_close' })
  })

  test('the same salt again is a newer offset, not a mistake', () => {
    const { correction, refusal } = correctionOf([point(13, 11.3, 1), point(12.4, 11.31, 2)])
    expect(correction).toMatchObject({ kind: 'offset', point: { shownPct: 12.4 } })
    expect(refusal).toBeNull()
  })

  test('a slope that no working sensor has is refused', () => {
    const { correction, refusal } = correctionOf([point(11, 11.3, 1), point(23, 32.8, 2)])
    expect(correction.kind).toBe('offset')
    expect(refusal).toMatchObject({ reason: 'slope_out_of_range' })
    expect(correctionOf([point(20, 11.3, 1), point(20, 32.8, 2)]).refusal).toMatchObject({
      reason: 'slope_out_of_range',
    })
  })

  test('drift grows with the root of time, a soaking lasts three days', () => {
    const { correction } = correctionOf([point(11, 11.3, 0, 0)])
    const year = 365.25 * 86_400
    const at = (atS: number, soakedAtS: number | null) =>
      correctionSigmaPct(correction, { humidityPct: 8, atS, soakedAtS })
    expect(at(4 * year, null)).toBeCloseTo(2, 9)
    expect(at(0, 0)).toBeCloseTo(1.5, 9)
    expect(at(72 * HOUR, 0)).toBeLessThan(0.1)
  })
})
