import { describe, expect, test } from 'vitest'
import { freshCells, memberExitPct, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { weighByRunTime } from '../../../src/core/beads/ensemble-update.ts'
import { startRunTime, takeRunTime } from '../../../src/core/trace/run-time.ts'
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
