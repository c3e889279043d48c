import { expect, test } from 'vitest'
import { inferPump, startPump, takePower, usualPowerW } from '../../../src/core/trace/pump.ts'

test('a motor that has stopped is not taken for its usual power within hours, another pump within days', () => {
  const pump = startPump()
  for (let i = 0; i < 100; i++) takePower(pump, 4, true)
  for (let i = 0; i < 180; i++) takePower(pump, 0.5, true)
  expect(usualPowerW(pump)).toBeGreaterThan(3)
  for (let i = 0; i < 3 * 1440; i++) takePower(pump, 1, true)
  expect(usualPowerW(pump)).toBeCloseTo(1, 1)
})

/**
 * When an inferred run of a band from 8 to 15 % is told to have ended, min; readings ten minutes apart, the first at `start`, and what a
 * percent is in g/m3, if a temperature tells.
 */
function endedMin(
  humidities: readonly number[],
  stepPct: number,
  gm3PerPct: readonly number[] = [],
): number | null {
  const pump = startPump()
  const limits = { startPct: 15, surelyOnPct: 15, stopPct: 8, sigmaPct: 0.3, stepPct }
  const told = humidities.map((humidityPct, index) => {
    const perPct = gm3PerPct[Math.min(index, gm3PerPct.length - 1)]
    const densityGm3 = perPct === undefined ? null : perPct * humidityPct
    return inferPump(pump, { ...limits, atS: 600 * index, humidityPct, densityGm3 })
  })
  return pump.inferred === 'run' ? null : (told.findLast((atS) => atS !== null) ?? 0) / 60
}

test('air that came within a step of stop and gets no lower for an hour was at it between two readings', () => {
  expect(endedMin([15, 12, 9, 9, 10, 10, 9, 10, 9, 10, 10], 1)).toBe(30)
  expect(endedMin([15, 12, 8.5, 8.8, 8.7, 8.9, 9, 9, 9.1, 9.2], 0.1)).toBe(20)
})

test('air that is still falling, or stands higher up, is no end', () => {
  expect(endedMin([15, 13, 11, 10, 9.5, 9.2, 9, 8.9, 8.8, 8.7, 8.6, 8.5], 0.1)).toBeNull()
  expect(endedMin([15, 13, 11, ...Array<number>(20).fill(11.2)], 0.1)).toBeNull()
})

test('air that fell as only beads make it and then climbs within the band for an hour has ended its run higher up', () => {
  // A small engine, dried between two posts and mixed again by the next.
  const climbs = [13, 13.3, 13.6, 13.8, 14, 14.1, 14.2, 14.3]
  const steadyC = [0.13]
  expect(endedMin([15, 11.8, ...climbs], 0.1, steadyC)).toBe(10)
  // Over `start` it is a wet engine's, and what never fell is a dead pump's.
  expect(endedMin([15, 11.8, ...climbs.map((pct) => pct + 3)], 0.1, steadyC)).toBeNull()
  expect(endedMin([15, 13.2, ...climbs.map((pct) => pct + 0.6)], 0.1, steadyC)).toBeNull()
})

test('air that falls because a dead pump warms its box by some kelvins holds as much vapour as before', () => {
  const climbs = [11.9, 12, 12.2, 12.4, 12.5, 12.7, 12.8, 12.9]
  expect(endedMin([15, 11.8, ...climbs], 0.1, [0.13, 0.165])).toBeNull()
  // Without a temperature as much as that heat can make proves nothing; more does.
  expect(endedMin([15, 11.8, ...climbs], 0.1)).toBeNull()
  expect(
    endedMin(
      [30, 15.5, 17, 17.5, 18, 18.2, 18.4, 18.6, 18.8, 19].map((pct) => pct / 2),
      0.1,
    ),
  ).toBe(10)
})

/** What is inferred from readings ten minutes apart, the outlet off by 1 % at most: 'run' and since when, min; or not. */
function begunMin(humidities: readonly number[], sigmaPct = 0.1): number | null {
  const pump = startPump()
  const limits = { startPct: 15, surelyOnPct: 16, stopPct: 6, sigmaPct, stepPct: 0.1, densityGm3: null }
  let fromS: number | null = null
  for (const [index, humidityPct] of humidities.entries()) {
    const turnedS = inferPump(pump, { ...limits, atS: 600 * index, humidityPct })
    if (turnedS !== null) fromS = pump.inferred === 'run' ? turnedS : null
  }
  return fromS === null ? null : fromS / 60
}

test('air that touches the limit within the tolerance and falls back over hours was moved by no pump', () => {
  expect(
    begunMin([14.8, 15.1, 15.3, 15.2, 15, 14.8, 14.6, 14.4, 14.2, 14, 13.8, 13.6, 13.4, 13.2, 13]),
  ).toBeNull()
  expect(begunMin(Array<number>(30).fill(15.6))).toBeNull()
})

test('air that falls from there within the hour was, and since it was last near its top', () => {
  expect(begunMin([14.8, 15.1, 15.3, 13.6, 12.4])).toBe(20)
  expect(begunMin([15.3, 14.6, 14.3, 14, 13.7, 13.4, 13.1, 12.8])).toBe(10)
})

test('a fall from the one end of the noise to the other is none', () => {
  const falls = [14.8, 15.1, 14, 12.7]
  expect(begunMin(falls, 0.4)).toBeNull()
  expect(begunMin([...falls, 12.3], 0.4)).toBe(10)
})

test('so is air that passes the tolerance, at once', () => {
  expect(begunMin([14.8, 15.1, 16.2])).toBe(20)
  expect(begunMin([14.8, 19])).toBe(10)
})
