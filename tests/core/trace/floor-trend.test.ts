import { describe, expect, test } from 'vitest'
import { floorTrend, startFloorTrend, takeFloor } from '../../../src/core/trace/floor-trend.ts'
import { floorTrendSentence } from '../../../src/core/words/floor-trend-sentence.ts'

const DAY_S = 86_400
/** A multiple of three days since 1970. */
const START_S = 20_001 * DAY_S

/** Three runs a day for so many days, each with the floor of its time in days. */
function seen(days: number, floorPct: (day: number, run: number) => number) {
  const memory = startFloorTrend()
  for (let run = 0; run < 3 * days; run++) {
    takeFloor(memory, START_S + run * (DAY_S / 3), floorPct(run / 3, run))
  }
  return memory
}

/** A scatter without randomness that three days average to the same. */
const scatter = (run: number) => [-0.6, 0.1, 0.5][run % 3] ?? 0

describe('trend of the floor', () => {
  test('a floor that rises by 0.4 % a week is found within its limits, whatever single runs scatter', () => {
    const trend = floorTrend(seen(63, (day, run) => 2 + (0.4 * day) / 7 + scatter(run)))
    expect(trend?.pctPerWeek.mid).toBeCloseTo(0.4, 2)
    expect(trend?.pctPerWeek.low).toBeLessThanOrEqual(trend?.pctPerWeek.mid ?? 0)
    expect(trend?.pctPerWeek.high).toBeGreaterThanOrEqual(trend?.pctPerWeek.mid ?? 1)
    expect(trend?.chance).toBeLessThan(1e-4)
    expect(trend?.fromS).toBe(START_S)
  })

  test('the exact tail of Mann-Kendall: seven medians in order come by chance 2 times in 7!', () => {
    const trend = floorTrend(seen(22, (day) => 2 + 0.05 * day))
    expect(trend?.chance).toBeCloseTo(2 / 5040, 10)
  })

  test('under three weeks nothing is said', () => {
    expect(floorTrend(seen(20, (day) => 2 + day))).toBeNull()
    expect(floorTrendSentence(null)).toBeNull()
  })

  test('a year keeps no more than four months', () => {
    const memory = seen(365, (day) => 2 + 0.01 * day)
    expect(memory.medians).toHaveLength(40)
    expect(memory.open.length).toBeLessThanOrEqual(64)
  })
})

const trend = (low: number, mid: number, high: number, chance: number) => ({
  fromS: START_S,
  toS: START_S + 63 * DAY_S,
  pctPerWeek: { low, mid, high },
  chance,
})

describe('its words', () => {
  test.each([
    [
      trend(0.21, 0.32, 0.44, 1 / 400),
      'Over 9 weeks the floor that runs head for has risen by 0.3 % RH a week (0.2 to 0.4); chance alone would look so once in 400 times.',
    ],
    [
      trend(-0.44, -0.32, -0.05, 0.01),
      'Over 9 weeks the floor that runs head for has fallen by 0.3 % RH a week (0.05 to 0.4); chance alone would look so once in 100 times.',
    ],
    [
      trend(-0.1, 0.03, 0.15, 0.4),
      'Over 9 weeks the floor that runs head for shows no clear trend (between -0.1 and 0.1 % RH a week).',
    ],
    [
      trend(0.5, 0.6, 0.7, 1e-9),
      'Over 9 weeks the floor that runs head for has risen by 0.6 % RH a week (0.5 to 0.7); chance alone would look so under once in a thousand times.',
    ],
  ])('%#', (told, sentence) => {
    expect(floorTrendSentence(told)).toBe(sentence)
  })
})
