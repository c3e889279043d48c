import * as fc from 'fast-check'
import { describe, expect, test } from 'vitest'
import { humidityPctOfDensity, vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import { bedCellCount, evenCells, exitGm3, pushParcel, waterInCellsG } from '../../../src/core/beads/bed.ts'
import { FLIGHT_AIR_PCT, FORECAST_DAYS_MAX, runUntilSpent } from '../../../src/core/beads/capacity.ts'
import {
  densityPerPa25,
  equilibriumPressurePa,
  loadingKgKg,
  pressure25Pa,
  tabulateIsotherm,
} from '../../../src/core/beads/isotherm.ts'
import { BEAD_KINDS, findBeadKind } from '../../../src/core/beads/kinds.ts'

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true })
const GEL = findBeadKind('regular-gel') ?? BEAD_KINDS[0]
if (GEL === undefined) throw new Error('no beads')
const TABLE = tabulateIsotherm(GEL)
const bed = (massG: number, scale = 1) => ({
  isotherm: TABLE,
  cellMassG: massG / bedCellCount(massG),
  scale,
})

describe.each(BEAD_KINDS.map((kind) => [kind.name, kind] as const))('isotherm of %s', (_, kind) => {
  test('loading and pressure are exact inverses at every temperature', () => {
    fc.assert(
      fc.property(number(0.0005, 0.45), number(-10, 140), (loading, tempC) => {
        const back = loadingKgKg(kind, equilibriumPressurePa(kind, loading, tempC), tempC)
        expect(Math.abs(back / loading - 1)).toBeLessThan(1e-10)
      }),
    )
  })

  test('more vapour is more water, more heat less', () => {
    fc.assert(
      fc.property(number(0.1, 3000), number(-10, 60), (pressurePa, tempC) => {
        const here = loadingKgKg(kind, pressurePa, tempC)
        expect(loadingKgKg(kind, pressurePa * 1.01, tempC)).toBeGreaterThan(here)
        expect(loadingKgKg(kind, pressurePa, tempC + 1)).toBeLessThan(here)
      }),
    )
  })

  test('the table stays within 0.1 % of the exact curve', () => {
    const table = tabulateIsotherm(kind)
    for (let loading = 0.0003; loading < 0.45; loading += 0.00037) {
      const exact = equilibriumPressurePa(kind, loading, 25)
      expect(Math.abs(pressure25Pa(table, loading) / exact - 1)).toBeLessThan(1e-3)
    }
  })
})

describe('bed', () => {
  test.each([
    [300, 2],
    [500, 2],
    [1000, 4],
    [2000, 8],
    [5000, 12],
  ])('%d g stand as %d cells', (massG, count) => expect(bedCellCount(massG)).toBe(count))

  test('what the air loses the cells gain, whatever comes', () => {
    const parcel = fc.record({ inPct: number(0, 100), tempC: number(-10, 40), volumeL: number(0.1, 20) })
    fc.assert(
      fc.property(fc.array(parcel, { minLength: 1, maxLength: 60 }), (parcels) => {
        const cells = evenCells(bedCellCount(1500), 0.03)
        const beads = bed(1500)
        const beforeG = waterInCellsG(cells, beads)
        let leftG = 0
        for (const { inPct, tempC, volumeL } of parcels) {
          const inGm3 = vapourDensityGm3(inPct, tempC)
          const outGm3 = pushParcel(cells, beads, {
            inGm3,
            volumeL,
            perPa25: densityPerPa25(TABLE.kind, tempC),
          })
          leftG += ((inGm3 - outGm3) * volumeL) / 1000
        }
        expect(waterInCellsG(cells, beads) - beforeG).toBeCloseTo(leftG, 9)
      }),
    )
  })

  test('the exit stays at the bake residual while the front is inside, and rises when it comes out', () => {
    const beads = bed(2000)
    const cells = evenCells(8, 0.0095)
    const perPa25 = densityPerPa25(TABLE.kind, 20)
    const inGm3 = vapourDensityGm3(98, 20)
    const exitAtG = (targetG: number) => {
      while (waterInCellsG(cells, beads) < targetG) pushParcel(cells, beads, { inGm3, volumeL: 10, perPa25 })
      return humidityPctOfDensity(exitGm3(cells, beads, 20), 20)
    }
    expect(exitAtG(150)).toBeLessThan(0.5)
    expect(exitAtG(700)).toBeGreaterThan(20)
  })
})

describe('capacity by forward run', () => {
  const mix = {
    flightsPerDay: 1 / 12,
    gPerFlight: 6,
    idleGPerDay: 0.4,
    idlePct: 10.5,
    flightPct: FLIGHT_AIR_PCT,
    bedTempC: 20,
    stopPct: 6,
  }
  const fresh = evenCells(8, 0.0095)

  test('leakage alone: about 0.06 kg/kg, the equilibrium with the band', () => {
    const spent = runUntilSpent(fresh, bed(2000), { ...mix, flightsPerDay: 0, idleGPerDay: 1 })
    expect(spent.isSpent).toBe(true)
    expect(spent.waterG / 2000).toBeGreaterThan(0.05)
    expect(spent.waterG / 2000).toBeLessThan(0.08)
    expect(spent.days).toBeCloseTo(spent.waterG, 6)
  })

  test('flights load the inlet far higher', () => {
    const spent = runUntilSpent(fresh, bed(2000), mix)
    expect(spent.waterG / 2000).toBeGreaterThan(0.08)
    expect(spent.waterG / 2000).toBeLessThan(0.27)
    const perDayG = 6 / 12 + 0.4
    expect(spent.waterG / spent.days).toBeCloseTo(perDayG, 1)
    expect(spent.flights).toBeCloseTo(spent.days / 12, 0)
  })

  test('capacity grows with the scale of the beads, and a used bed has less left', () => {
    const once = runUntilSpent(fresh, bed(2000, 1), mix).waterG
    expect(runUntilSpent(fresh, bed(2000, 1.3), mix).waterG).toBeGreaterThan(1.2 * once)
    expect(runUntilSpent(evenCells(8, 0.04), bed(2000), mix).waterG).toBeLessThan(0.8 * once)
  })

  test('beads that outlast the longest forecast hold what they hold, and their days are those', () => {
    const idle = { ...mix, flightsPerDay: 0 }
    const soon = runUntilSpent(fresh, bed(2000), { ...idle, idleGPerDay: 0.3 })
    expect(soon.isSpent).toBe(true)
    for (const idleGPerDay of [0.03, 0.01, 0.001]) {
      const spent = runUntilSpent(fresh, bed(2000), { ...idle, idleGPerDay })
      expect(spent).toMatchObject({ isSpent: false, days: FORECAST_DAYS_MAX })
      expect(spent.waterG).toBeCloseTo(soon.waterG, 0)
    }
  })

  test('no uptake ends at the limit and says that nothing is spent', () => {
    const spent = runUntilSpent(fresh, bed(2000), { ...mix, flightsPerDay: 0, idleGPerDay: 0 })
    expect(spent).toEqual({ waterG: 0, days: 1500, flights: 0, isSpent: false })
  })

  test('the given cells stay as they are', () => {
    const cells = evenCells(4, 0.02)
    runUntilSpent(cells, bed(1000), mix)
    expect(cells).toEqual([0.02, 0.02, 0.02, 0.02])
  })
})
