import { describe, expect, test } from 'vitest'
import { freshCells, memberExitPct, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { weighByRunTime } from '../../../src/core/beads/ensemble-update.ts'
import { startRunTime, takeRunTime, warmthC } from '../../../src/core/trace/run-time.ts'
import { hiddenSinceS } from '../../../src/core/fold/shown-since.ts'
import { startRun, takeRunPoint } from '../../../src/core/trace/run.ts'
import { saturationDensityGm3 } from '../../../src/core/air/vapour.ts'
import { seeded } from '../fold/saw-tooth.ts'

const DAY_S = 86_400
const START_S = 1_743_465_600

/** A fill of runs twice a day, median 30 min, of a rig whose runs differ by `scatter` (ln), longer by `times` at the end. */
function fill(scatter: number, times: number, days = 40) {
  const memory = startRunTime(START_S)
  const random = seeded(5)
  for (let run = 1; run <= 2 * days; run++) {
    const noise = 2 * (random() + random() + random() - 1.5) * scatter
    const late = run > 2 * (days - 3) ? Math.log(times) : 0
    takeRunTime(memory, START_S + (run * DAY_S) / 2, 30 * Math.exp(noise + late), 15)
  }
  return memory
}

const aDegreeAt = (tempC: number) => warmthC(tempC + 0.5) - warmthC(tempC - 0.5)

describe('what cold makes of a run', () => {
  test('a degree at 15 degC is a degree, one in frost is more than two, one in the heat half', () => {
    expect(warmthC(15)).toBeCloseTo(15, 6)
    expect(aDegreeAt(15)).toBeCloseTo(1, 1)
    expect(aDegreeAt(-10)).toBeGreaterThan(2.4)
    expect(aDegreeAt(30)).toBeLessThan(0.6)
  })

  test('films that go with RH lengthen runs in a cold winter by what their law says: no floor has risen', () => {
    const memory = startRunTime(START_S)
    for (let run = 1; run <= 100; run++) {
      const tempC = run < 40 ? -1 : -12
      const minutes = 30 * (1 + (0.49 * saturationDensityGm3(15)) / saturationDensityGm3(tempC))
      takeRunTime(memory, START_S + (run * DAY_S) / 2, minutes, tempC)
    }
    // By 0.02 a degree they would have become 1.3 times as long.
    expect(memory.ratio).toBeCloseTo(1, 1)
  })
})

describe('how long runs are now, beside the first of the fill', () => {
  test('nothing is said in the first two weeks', () => {
    expect(fill(0.05, 1, 13).now).toBeNull()
  })

  test('a rig whose runs repeat knows better than one whose runs differ', () => {
    const quiet = fill(0.05, 1).now
    const noisy = fill(0.5, 1).now
    expect(quiet?.sd).toBeLessThan(0.16)
    expect(noisy?.sd).toBeGreaterThan(1.5 * (quiet?.sd ?? 9))
    expect(Math.abs(quiet?.ln ?? 9)).toBeLessThan(2 * (quiet?.sd ?? 0))
    expect(Math.abs(noisy?.ln ?? 9)).toBeLessThan(2 * (noisy?.sd ?? 0))
  })

  test('three days of longer runs show, two weeks before the alarm ratio does', () => {
    const memory = fill(0.05, 1.6)
    expect(memory.now?.ln).toBeGreaterThan(Math.log(1.45))
    expect(memory.ratio).toBeLessThan(1.1)
  })

  test('four runs are enough to weigh by, with a wider error', () => {
    const memory = startRunTime(START_S)
    for (const day of [3, 6, 9, 12, 20, 26, 32, 38]) takeRunTime(memory, START_S + day * DAY_S, 30, 15)
    expect(memory.now?.ln).toBeCloseTo(0, 6)
    expect(memory.now?.sd).toBeGreaterThan(fill(0.05, 1).now?.sd ?? 9)
  })
})

/** Share of the weight that lies on columns whose exit air is over 2.5 %, after such a ratio was seen. */
function wetShare(ln: number, sd: number): number {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 120 }, { mean: 0, sd: 0.4 })
  ensemble.cells = freshCells(ensemble).map((cells, member) => (member < 9 ? cells.map(() => 0.06) : cells))
  weighByRunTime(ensemble, { ln, sd, tempC: 15, highPct: 12, lowPct: 7.5 })
  return ensemble.weights.reduce(
    (sum, weight, member) => sum + (memberExitPct(ensemble, member, 15) > 2.5 ? weight : 0),
    0,
  )
}

describe('columns are weighed by the error of the rig itself', () => {
  test('the same quiet runs say more against a spent column on a rig whose runs repeat', () => {
    expect(wetShare(0, 0.12)).toBeLessThan(0.5 * wetShare(0, 0.4))
  })

  test('runs that lengthen say more for it', () => {
    expect(wetShare(0.5, 0.12)).toBeGreaterThan(wetShare(0, 0.12))
  })
})

/** Minutes from 12 to 7 % of a fall from 25 % towards 2 %, time constant `tauMin`, as a hub shows it. */
function timed(
  tauMin: number,
  { renewS, stepPct, phaseS }: { renewS: number; stepPct: number; phaseS: number },
) {
  const run = startRun({ fromS: START_S, basis: 'reported', startPct: 15, startGm3: 2, afterFlight: false })
  for (let s = 0; s <= 6 * 3600; s += 60) {
    const takenS = Math.max(0, s - ((s + phaseS) % renewS))
    const pct = Math.round((2 + 23 * Math.exp(-takenS / 60 / tauMin)) / stepPct) * stepPct
    const atS = START_S + s
    const point = { atS, humidityPct: pct, densityGm3: pct / 7.8, tempC: 15, scale: 1, tolerancePct: 0.2 }
    takeRunPoint(run, point, { highPct: 12, lowPct: 7 }, false)
    if (run.minutes !== null) return run.minutes
  }
  return null
}

const trueMin = (tauMin: number) => tauMin * Math.log((12 - 2) / (7 - 2))

describe('minutes between two readings', () => {
  test('a hub that shows one value for ten minutes does not make them none, or ten', () => {
    for (const tauMin of [8, 15, 30]) {
      for (const phaseS of [0, 180, 420]) {
        const minutes = timed(tauMin, { renewS: 600, stepPct: 0.01, phaseS }) ?? 0
        expect(minutes / trueMin(tauMin)).toBeGreaterThan(0.6)
        expect(minutes / trueMin(tauMin)).toBeLessThan(1.6)
      }
    }
  })

  test('nor does a sensor of whole percents', () => {
    const minutes = timed(40, { renewS: 60, stepPct: 1, phaseS: 0 }) ?? 0
    expect(minutes / trueMin(40)).toBeGreaterThan(0.8)
    expect(minutes / trueMin(40)).toBeLessThan(1.25)
  })
})

/** A fall that began 8 min before a hub showed it: to 9 % where it had shown 15 % for 10 min. */
function timedBehind(shownSinceS: number): number {
  const run = startRun({
    fromS: START_S,
    basis: 'inferred',
    startPct: 15,
    startGm3: 2,
    afterFlight: false,
    shownSinceS,
  })
  for (const [s, pct] of [
    [0, 15],
    [60, 6.5],
  ] as const) {
    const atS = START_S + s
    const point = { atS, humidityPct: pct, densityGm3: pct / 7.8, tempC: 15, scale: 1, tolerancePct: 0.2 }
    takeRunPoint(run, point, { highPct: 12, lowPct: 7 }, false)
  }
  return run.minutes ?? 0
}

test('a fall behind a value that was shown before an inferred run began is timed from there', () => {
  const share = Math.log(12 / 7) / Math.log(15 / 6.5)
  expect(timedBehind(START_S)).toBeCloseTo(share * 1, 6)
  expect(timedBehind(START_S - 540)).toBeCloseTo(share * 10, 6)
})

describe('since when a hub hid what came', () => {
  const trail = [14.6, 14.7, 15, 15, 15].map((pct, index): [number, number, number] => [60 * index, pct, 2])
  const last = trail[4] ?? [0, 0, 0]

  test('is when the value was first shown', () => {
    expect(hiddenSinceS(trail, last, 0.1)).toBe(120)
  })

  test('is the last reading of a sensor in steps, which may have read the same each time', () => {
    expect(hiddenSinceS(trail, last, 0.3)).toBe(240)
  })

  test('is the last reading where nothing was shown before', () => {
    expect(hiddenSinceS(trail.slice(2), last, 0.1)).toBe(240)
  })
})

describe('the error of the alarm ratio', () => {
  test('is that of the rig', () => {
    expect(fill(0.05, 1).ratioLnSd).toBeLessThan(0.5 * (fill(0.5, 1).ratioLnSd ?? 0))
  })

  test('has the season in it: runs of another month are compared across a slope that days do not teach', () => {
    const [same, colder] = [15, -3].map((lateC) => {
      const memory = startRunTime(START_S)
      for (let day = 0.5; day <= 80; day += 0.5)
        takeRunTime(memory, START_S + day * DAY_S, 30, day < 40 ? 15 : lateC)
      return memory.ratioLnSd ?? 0
    })
    expect(colder).toBeGreaterThan(Math.hypot(same ?? 9, 0.25))
  })
})

test('the runs of the days after a flight carry its water: they are no sign that the beads let go', () => {
  const memory = startRunTime(START_S)
  for (let run = 1; run <= 80; run++) {
    const isDry = run <= 74
    takeRunTime(memory, START_S + (run * DAY_S) / 2, isDry ? 30 : 60, 15, isDry)
  }
  expect(memory.now?.ln).toBeCloseTo(0, 6)
})

test('nor are the short ones of a wet engine, which dry little but the box, what later runs are measured by', () => {
  const memory = startRunTime(START_S)
  for (let run = 1; run <= 12; run++) takeRunTime(memory, START_S + run * 1800, 3, 15, false)
  for (let run = 3; run <= 60; run++) takeRunTime(memory, START_S + run * DAY_S, 20, 15)
  expect(memory.ratio).toBeCloseTo(1, 3)
})
