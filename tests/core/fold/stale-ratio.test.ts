import { describe, expect, test } from 'vitest'
import { bedsOf, memberExitPct, pushEnsemble, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import { advance } from '../../../src/core/fold/advance.ts'
import { learnHolds } from '../../../src/core/fold/anchor-fill.ts'
import { takenG } from '../../../src/core/fold/fill.ts'
import type { FillMemory } from '../../../src/core/fold/fill-memory.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { weighMembers } from '../../../src/core/fold/step-forecast.ts'
import type { Known } from '../../../src/core/fold/work.ts'
import { SETTINGS } from './saw-tooth.ts'

const DAY_S = 86_400
const BAKED_S = 1_743_465_600
const NOW_S = BAKED_S + 40 * DAY_S
const LOAD = { kind: 'regular-gel', massG: 1000, bakeTempC: 120 }

/** Beads that have taken up `grams` of the air of flights: they would use up some of the columns. */
function loaded(grams: number): Known {
  const ensemble = startEnsemble(LOAD, { mean: 0, sd: 0.3 })
  const beds = bedsOf(ensemble)
  while (takenG({ ensemble }) < grams) pushEnsemble(ensemble, beds, { inGm3: 10, volumeL: 20, tempC: 15 })
  const settings = { ...SETTINGS, beadMassG: LOAD.massG, flowLPerMin: 2 }
  const log = [{ atS: BAKED_S, what: 'bake', detail: { tempC: '120' } }]
  const inputs = { readings: [], log, settings: [{ fromS: 0, settings }] }
  const { memory } = advance(newMemory(BAKED_S - 300), inputs, BAKED_S + 300)
  Object.assign(memory.beads.fill ?? {}, { ensemble, wetG: grams })
  return { memory, settings, gridS: NOW_S }
}

const fillOf = ({ memory }: Known): FillMemory => {
  const { fill } = memory.beads
  if (fill === null) throw new Error('there are beads in the column')
  return fill
}

/** A flat ratio of a run five days ago, and a flight. */
function weighedAfter(flightAtS: number | null): Known {
  const work = loaded(150)
  const { log, runTime } = work.memory
  runTime.now = { ln: 0, sd: 0.15 }
  runTime.last = [[NOW_S - 5 * DAY_S, 3, 15, 1]]
  log.flightAtS = flightAtS
  weighMembers(work)
  return work
}

/** ln of the share that a fill is taken to have held whose last runs were so much longer, ln. */
function heldAfter(ln: number): number {
  const work = loaded(60)
  const { runTime } = work.memory
  runTime.now = { ln, sd: 0.1 }
  runTime.ratio = Math.exp(ln)
  learnHolds(work)
  return fillOf(work).holds?.mean ?? Number.NaN
}

describe('a run-time ratio', () => {
  test('of runs before a flight says nothing of columns that hold its water', () => {
    const before = [...(fillOf(loaded(150)).ensemble?.weights ?? [])]
    expect(fillOf(weighedAfter(NOW_S - 2 * DAY_S)).ensemble?.weights).toEqual(before)
  })

  test('of runs since refutes those whose exit has come up', () => {
    for (const flightAtS of [null, NOW_S - 9 * DAY_S]) {
      const { ensemble } = fillOf(weighedAfter(flightAtS))
      if (ensemble === null) throw new Error('its water is counted')
      let usedUp = 0
      ensemble.weights.forEach((weight, member) => {
        if (memberExitPct(ensemble, member, 15) > 20) usedUp += weight
      })
      expect(usedUp).toBeLessThan(0.02)
    }
  })
})

describe('a fill that was baked as its runs grew longer', () => {
  test('is told to hold no more than its ledger where they show an exit near `stop`, and a tenth or so more before', () => {
    const atStop = heldAfter(3)
    const early = heldAfter(0.5)
    expect(early - atStop).toBeGreaterThan(0.02)
    expect(early - atStop).toBeLessThan(Math.log(1 / 0.8) + 1e-9)
  })
})
