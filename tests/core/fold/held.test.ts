import { describe, expect, test } from 'vitest'
import { bedsOf, pushEnsemble, startEnsemble } from '../../../src/core/beads/ensemble.ts'
import type { Pace } from '../../../src/core/beads/forecast.ts'
import { publishedCapacityG } from '../../../src/core/beads/published-capacity.ts'
import { takenG } from '../../../src/core/fold/fill.ts'
import { publishedG } from '../../../src/core/fold/held.ts'

const LOAD = { kind: 'regular-gel', massG: 1000, bakeTempC: 120 }
const AIR = { wetShare: 0.5, wetShareOfAll: 0.4, wetPct: 90, dryPct: 10 }
/** Half of the water comes with flights, half of theirs in wet air. */
const PACE: Pace = {
  flightsPerDay: 0.1,
  gPerFlight: 5,
  idleGPerDay: 0.5,
  gBetweenFlights: 10,
  air: AIR,
  bedTempC: 15,
  stopPct: 6,
}
const byShare = (wetShare: number) =>
  publishedCapacityG(LOAD, { wetShare, air: AIR, stopPct: 6, bedTempC: 15 })

/** A column that has taken up some 40 g, of which `wetShare` came in wet air. */
function loaded(wetShare: number) {
  const ensemble = startEnsemble(LOAD, { mean: 0, sd: 0.1 })
  const beds = bedsOf(ensemble)
  while (takenG({ ensemble }) < 40) pushEnsemble(ensemble, beds, { inGm3: 10, volumeL: 20, tempC: 15 })
  return { ...LOAD, ensemble, wetG: wetShare * takenG({ ensemble }) }
}

describe('what the published curve makes of a fill', () => {
  const fresh = { ...LOAD, ensemble: startEnsemble(LOAD, { mean: 0, sd: 0.1 }), wetG: 0 }

  test('before it has taken up anything the pace says in what air its water will come', () => {
    expect(publishedG(fresh, PACE, 100)).toBeCloseTo(byShare(0.25), 6)
    expect(publishedG(fresh, { ...PACE, flightsPerDay: 0 }, 100)).toBeCloseTo(byShare(0.4), 6)
  })

  test('at its end what it took up says so, whatever the pace', () => {
    for (const wetShare of [0.1, 0.8])
      expect(publishedG(loaded(wetShare), PACE, 0)).toBeCloseTo(byShare(wetShare), 6)
  })

  test('in between both do, by their grams', () => {
    const half = loaded(0.85)
    expect(publishedG(half, PACE, takenG(half))).toBeCloseTo(byShare(0.55), 6)
  })

  test('without a mass nothing is said', () => {
    expect(publishedG({ ...fresh, massG: null }, PACE, 100)).toBe(0)
  })
})
