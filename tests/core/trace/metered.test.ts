import { describe, expect, test } from 'vitest'
import { startLevels, takeMetered } from '../../../src/core/trace/metered.ts'

/** Whether each of `powersW` counts as on, after as many `rounds` of 40 readings at `restW` and 20 of a run about `runW`. */
function isOn(
  powersW: readonly number[],
  statedW: number | null,
  seen: { readonly rounds: number; readonly restW: number; readonly runW: number },
): string {
  const levels = startLevels()
  let wasOn = false
  const take = (powerW: number): boolean => {
    wasOn = takeMetered(levels, powerW, wasOn, statedW)
    return wasOn
  }
  for (let round = 0; round < seen.rounds; round++) {
    for (let index = 0; index < 40; index++) take(seen.restW)
    for (let index = 0; index < 20; index++) take(seen.runW + 0.2 * ((index % 3) - 1))
  }
  return powersW.map((powerW) => (take(powerW) ? 'x' : '.')).join('')
}

const NEW = { rounds: 0, restW: 0.3, runW: 4 }
const KNOWN = { rounds: 3, restW: 0.3, runW: 4 }

describe('metered power that means on', () => {
  test.each([
    ['what the pump draws, swinging about it', [0.3, 3.9, 4.1, 3.8, 4, 3.7, 0.3], 4, NEW, '.xxxxx.'],
    ['what is printed on it, never reached', [0.3, 2.5, 2.9, 2.6, 0.3], 3, NEW, '.xxx.'],
    [
      'printed twice too high: once both levels are seen',
      [0.3, 5, 4.8, 0.3],
      12,
      { ...KNOWN, runW: 5 },
      '.xx.',
    ],
    [
      'between an outlet with a lamp on it and its pump',
      [7, 15, 14, 7],
      12,
      { rounds: 3, restW: 7, runW: 15 },
      '.xx.',
    ],
    ['a limit of 1.5 W is one', [1.4, 1.6, 2, 1.4, 1, 1.4], 1.5, NEW, '.xxx..'],
    ['also where the levels lie higher', [0.3, 1.4, 1.6, 4, 1.4, 1, 1.4], 1.5, KNOWN, '..xxx..'],
    ['not stated, 1 W', [0.9, 1.1, 0.9, 3, 1], null, KNOWN, '.x.x.'],
    [
      'a motor that stalls is on, and on again once mended',
      [0.3, 26, 26, 26, 0.3, 9.9, 9.8],
      10,
      { ...KNOWN, runW: 9.9 },
      '.xxx.xx',
    ],
  ])('%s', (_, powersW, statedW, seen, shown) => {
    expect(isOn(powersW, statedW, seen)).toBe(shown)
  })
})
