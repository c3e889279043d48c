import { describe, expect, test } from 'vitest'
import { vapourPressurePa } from '../../../src/core/air/vapour.ts'
import { bakeResidualKgKg } from '../../../src/core/beads/bake.ts'
import { isothermOf } from '../../../src/core/beads/ensemble.ts'
import { loadingKgKg } from '../../../src/core/beads/isotherm.ts'
import { publishedCapacityG } from '../../../src/core/beads/published-capacity.ts'

const LOAD = { kind: 'regular-gel', massG: 1000, bakeTempC: 120 }
const AIR = { air: { wetPct: 90, dryPct: 10 }, stopPct: 6, bedTempC: 15 }
const holdsG = (wetShare: number, massG = LOAD.massG) =>
  publishedCapacityG({ ...LOAD, massG }, { ...AIR, wetShare })

/** Grams that a kilogram holds in balance with air, above what the bake left. */
function balanceG(pct: number): number {
  const { kind } = isothermOf(LOAD.kind)
  return (
    1000 *
    (loadingKgKg(kind, vapourPressurePa(pct, AIR.bedTempC), AIR.bedTempC) -
      bakeResidualKgKg(kind, LOAD.bakeTempC))
  )
}

describe('what a column on the published curve holds', () => {
  test('lies between the balance with air at stop and that with the air it meets', () => {
    for (const [wetShare, inPct] of [
      [0, 10],
      [1, 90],
    ] as const) {
      expect(holdsG(wetShare)).toBeGreaterThan(balanceG(6))
      expect(holdsG(wetShare)).toBeLessThan(balanceG(inPct))
    }
  })

  test('is the more, the more of its water comes in wet air: by half from a quarter to three quarters', () => {
    const held = [0, 0.25, 0.5, 0.75, 1].map((wetShare) => holdsG(wetShare))
    expect(held).toEqual(held.toSorted((a, b) => a - b))
    const [, quarter = 0, , threeQuarters = 0] = held
    expect(threeQuarters / quarter).toBeGreaterThan(1.3)
    expect(threeQuarters / quarter).toBeLessThan(2)
  })

  test('three kilograms in wet air are not cut off: they hold more than three times what one does, their front being as short', () => {
    expect(holdsG(1, 3000)).toBeGreaterThan(3 * holdsG(1))
    expect(holdsG(1, 3000)).toBeLessThan(3 * balanceG(90))
  })
})
