import { describe, expect, test } from 'vitest'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import type { Moment } from '../../../src/core/rules/rule.ts'
import { Line, sameVapour, type Step } from './moment.ts'

/** When stuck-running is told, h after air that nobody reports the pump for went below `stop` (6 %); `null`: not in four days. */
function toldAfterH(
  make: (hour: number) => Step,
  base: Partial<Moment> = {},
  lowsPct: readonly number[] = [],
): { line: Line; hours: number | null } {
  const line = new Line({ pump: { state: 'rest', basis: 'inferred', sinceS: 0 }, ...base })
  // The cycles before, each down to its lowest reading and up again.
  for (const pct of lowsPct) {
    line.forHours(0.25, { pct, pump: 'run' })
    line.forHours(1, { pct: 14.5, pump: 'rest' })
  }
  line.forHours(2, { pct: 12, pump: 'run' })
  const fromS = line.atS
  line.forHours(96, (hour) => ({ pump: 'rest', ...make(hour) }))
  const event = line.events.find(({ rule }) => rule === 'stuck-running')
  return { line, hours: event === undefined ? null : (event.atS - fromS) / 3600 }
}

const noisy = (pct: number, hour: number) => ({ pct: pct + 0.2 * Math.sin(40 * hour) })
/** A day that is warmer by 12 K at its height, and colder by as much at night. */
const warm = (hour: number) => 15 + 12 * Math.sin((hour * Math.PI) / 12)

/** A hangar of 22 % that lets in 1 % an hour: 0.2 % RH an hour into air of 1.5 %, and noise of 0.7 % beside it. */
const tight = { ambientPct: 22, ambientGm3: vapourDensityGm3(22, 15), lambdaRefPerH: 0.01 }
const quick = (hour: number): Step => noisy(1.5 + 4 * Math.exp(-hour / 0.3), hour)
const quickOnce = (hour: number): Step =>
  hour < 2 ? quick(hour) : noisy(22 - 20.5 * Math.exp(-0.007 * (hour - 2)), hour)

describe('a pump that nobody reports and that runs on', () => {
  test('is told by air that goes on drying below stop, within twelve hours', () => {
    const { hours } = toldAfterH((hour) => noisy(1.2 + 4.5 * Math.exp(-hour / 2), hour))
    expect(hours).toBeGreaterThan(2)
    expect(hours).toBeLessThan(12)
  })

  test('is told by air that a strong pump had down at once, and that no hangar lifts', () => {
    const { hours } = toldAfterH((hour) => noisy(hour < 0.3 ? 4 : 1.5, hour))
    expect(hours).toBeGreaterThan(8)
    expect(hours).toBeLessThan(12)
  })

  test.each([
    ['is told within nine hours where its rests have begun at stop', 6, 0, 9],
    ['is told within nine hours where they have begun a little below', 5.7, 0, 9],
    ['is told later where its outlet is always as late', 1.5, 10, 16],
    ['is told within nine hours where they have begun a little above what stands now', 2.6, 0, 9],
  ])('%s', (_, lowPct, fromH, untilH) => {
    const { hours } = toldAfterH(quick, tight, Array<number>(5).fill(lowPct))
    expect(hours).toBeGreaterThan(fromH)
    expect(hours).toBeLessThan(untilH)
  })

  test('was late this once, and rests: its hangar lifts it', () => {
    expect(toldAfterH(quickOnce, tight, Array<number>(5).fill(5.7)).hours).toBeNull()
  })

  test('is over once the air is above stop, and not before', () => {
    const { line } = toldAfterH((hour) => noisy(1.2 + 4.5 * Math.exp(-hour / 2), hour))
    line.forHours(1, { pct: 4, pump: 'rest' })
    expect(line.isOpen('stuck-running')).toBe(true)
    line.forHours(1, { pct: 7, pump: 'rest' })
    expect(line.isOpen('stuck-running')).toBe(false)
    expect(line.events.filter(({ rule }) => rule === 'stuck-running').map(({ event }) => event)).toEqual([
      'raised',
      'over',
    ])
  })
})

describe('is not told of a box at rest', () => {
  test.each<[string, (hour: number) => Step]>([
    ['that its hangar lifts', (hour) => noisy(5.7 + 0.02 * hour, hour)],
    ['that an outlet stopped late, far below', (hour) => noisy(1.5 + 0.5 * hour, hour)],
    [
      'that gets warmer and colder by the day',
      (hour) => ({ pct: sameVapour(5.5, 15, warm(hour)), sample: { tempC: warm(hour) } }),
    ],
    ['whose engine cools for days', (hour) => ({ pct: 5.5, sample: { tempC: 30 - 0.4 * hour } })],
    [
      'whose sensor was replaced by one that reads lower',
      (hour) => noisy(hour < 5 ? 5.5 : 2 + 0.5 * (hour - 5), hour),
    ],
  ])('%s', (_, make) => {
    expect(toldAfterH(make).hours).toBeNull()
  })

  test('in a hangar as dry as its air', () => {
    const dry = { ambientPct: 2.5, ambientGm3: vapourDensityGm3(2.5, 15), isAmbientMeasured: true }
    expect(toldAfterH((hour) => noisy(2.5 + 3 * Math.exp(-hour / 10), hour), dry).hours).toBeNull()
  })

  test('while it is not known to be back on its engine', () => {
    const off = { unansweredFlightAtS: 1 }
    expect(toldAfterH((hour) => noisy(1.2 + 4.5 * Math.exp(-hour / 2), hour), off).hours).toBeNull()
  })
})
