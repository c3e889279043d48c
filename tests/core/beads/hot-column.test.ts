import { expect, test } from 'vitest'
import { bedsOf, memberTakenG, pushEnsemble, startEnsemble } from '../../../src/core/beads/ensemble.ts'

test.each([
  ['ten grams in a warm box', 10, 60, 20],
  ['a small column that a broken sensor calls 85 degC hot', 300, 85, 20],
  ['one that stands at the end of its range', 1000, 120, 100],
])('no column loses its measure: %s', (_, massG, tempC, volumeL) => {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG, bakeTempC: 120 }, { mean: -0.16, sd: 0.38 })
  const beds = bedsOf(ensemble)
  let inG = 0
  for (let parcel = 0; parcel < 200; parcel++) {
    // Damp air and dry air in turn.
    const inGm3 = parcel % 50 < 25 ? 12 : 1
    inG += ((inGm3 - pushEnsemble(ensemble, beds, { inGm3, volumeL, tempC })) * volumeL) / 1000
  }
  for (const cells of ensemble.cells)
    for (const loading of cells) {
      expect(loading).toBeGreaterThanOrEqual(0)
      expect(loading).toBeLessThan(0.6)
    }
  const takenG = beds.reduce(
    (sum, bed, member) => sum + (ensemble.weights[member] ?? 0) * memberTakenG(ensemble, member, bed),
    0,
  )
  expect(takenG).toBeCloseTo(inG, 2)
})
