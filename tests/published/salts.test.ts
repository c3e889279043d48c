import { describe, expect, test } from 'vitest'
import { SALTS, type Salt, saltPoint } from '../../src/core/sensor/salt-points.ts'

/** L. Greenspan 1977, J. Res. NBS 81A, 89: table 2 prints truncated values, so the budget is 0.015 % RH. */
describe('Greenspan fixed points', () => {
  test.each<[Salt, number, number, number]>([
    ['NaCl', 15, 75.61, 0.18],
    ['NaCl', 20, 75.47, 0.14],
    ['NaCl', 25, 75.29, 0.12],
    ['NaCl', 30, 75.09, 0.11],
    ['MgCl2', 15, 33.3, 0.21],
    ['MgCl2', 20, 33.07, 0.18],
    ['MgCl2', 25, 32.78, 0.16],
    ['MgCl2', 30, 32.44, 0.14],
    // The LiCl rows are from memory to two decimals; the one-decimal copy (11.3 from 5 to 25 degC) was seen.
    ['LiCl', 10, 11.29, 0.41],
    ['LiCl', 15, 11.3, 0.35],
    ['LiCl', 20, 11.31, 0.31],
    ['LiCl', 25, 11.3, 0.27],
    ['LiCl', 30, 11.28, 0.24],
  ])('%s at %d degC', (salt, tempC, want, uncertainty) => {
    const point = saltPoint(salt, tempC)
    expect(Math.abs((point?.humidityPct ?? 0) - want)).toBeLessThan(0.015)
    expect(point?.uncertaintyPct).toBeCloseTo(uncertainty, 9)
  })

  test('the sign trap: LiCl at 25 degC is 11.30, not 10.89', () => {
    expect(saltPoint('LiCl', 25)?.humidityPct).toBeCloseTo(11.3041, 3)
  })

  // CRC Handbook 15-33, A. Wexler, RH = A exp(B/T), stated to 2 % RH: an independent fit.
  test.each<[Salt, number, number]>([
    ['LiCl', 25, 11.298],
    ['MgCl2', 15, 32.924],
    ['MgCl2', 25, 32.794],
    ['NaCl', 20, 75.36],
    ['NaCl', 35, 75.048],
  ])('%s at %d degC agrees with the CRC fit within 0.5 %%', (salt, tempC, want) => {
    expect(Math.abs((saltPoint(salt, tempC)?.humidityPct ?? 0) - want)).toBeLessThan(0.5)
  })

  test('no caustic salt is offered', () => expect([...SALTS]).toEqual(['LiCl', 'MgCl2', 'NaCl']))
})
