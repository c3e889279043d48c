import { describe, expect, test } from 'vitest'
import { restateColumns } from '../../../src/core/beads/restate.ts'
import {
  bedOf,
  bedsOf,
  type EnsembleMemory,
  memberExitPct,
  memberTakenG,
  pushEnsemble,
  startEnsemble,
} from '../../../src/core/beads/ensemble.ts'

const AIR = { inGm3: 6, tempC: 15 }

/** A kilogram that has taken up about 60 g, a front in the middle of it. */
function loaded(): EnsembleMemory {
  const ensemble = startEnsemble({ kind: 'regular-gel', massG: 1000, bakeTempC: 120 }, { mean: 0, sd: 0.3 })
  const beds = bedsOf(ensemble)
  for (let parcel = 0; parcel < 500; parcel++) pushEnsemble(ensemble, beds, { ...AIR, volumeL: 20 })
  return ensemble
}

const takenOf = (ensemble: EnsembleMemory): number[] =>
  ensemble.weights.map((_, member) => memberTakenG(ensemble, member, bedOf(ensemble, member)))

const exitsOf = (ensemble: EnsembleMemory): number[] =>
  ensemble.weights.map((_, member) => memberExitPct(ensemble, member, 15))

/** Loading at the inlet of the middle column, kg/kg. */
const inlet = (ensemble: EnsembleMemory): number => ensemble.cells[13]?.[0] ?? 0

describe('columns that are brought to what a scale shows', () => {
  test.each([0, 5, 30, 70, 110, 250])('hold %d g each, whatever was counted', (takenG) => {
    const ensemble = loaded()
    restateColumns(ensemble, { takenG, lnShift: 0, ...AIR })
    for (const each of takenOf(ensemble)) expect(each).toBeCloseTo(takenG, 3)
  })

  test('have their front where less or more of the same air would have moved it', () => {
    const before = loaded()
    const less = loaded()
    const more = loaded()
    restateColumns(less, { takenG: 40, lnShift: 0, ...AIR })
    restateColumns(more, { takenG: 90, lnShift: 0, ...AIR })
    // The inlet was nearly in balance with the air, and is so after: half as much again lies behind it.
    expect(inlet(more) / inlet(before)).toBeLessThan(1.2)
    expect(inlet(less) / inlet(before)).toBeGreaterThan(0.8)
    exitsOf(before).forEach((exit, member) => {
      expect(exitsOf(less)[member]).toBeLessThanOrEqual(exit + 1e-6)
      expect(exitsOf(more)[member]).toBeGreaterThanOrEqual(exit - 1e-6)
    })
  })

  test('send out the same air where all that was learned of them was in ledger grams', () => {
    const ensemble = loaded()
    const [takenG = 0] = takenOf(ensemble)
    const exits = exitsOf(ensemble)
    restateColumns(ensemble, { takenG: 1.3 * takenG, lnShift: Math.log(1.3), ...AIR })
    expect(exitsOf(ensemble)[0]).toBeCloseTo(exits[0] ?? 0, 2)
  })
})
