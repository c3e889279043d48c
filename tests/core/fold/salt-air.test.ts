import { expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAYS = 12
const FROM_S = DAY_ZERO_S + DAYS * 24 * HOUR
const UNTIL_S = FROM_S + 12 * HOUR
const BAKED_S = DAY_ZERO_S - 60

/** A rig in order, then its sensor in a jar over magnesium chloride: 33 %, far above the band's start. */
function afterCheck(basis: 'reported' | 'inferred') {
  const jar: Reading[] = Array.from({ length: 12 * 12 - 1 }, (_, index) => ({
    atS: FROM_S + 300 * (index + 1),
    place: 'return' as const,
    humidityPct: index < 130 ? 32.8 : 12.9 + 0.1 * (index % 2),
    tempC: 15,
    pumpOn: basis === 'reported' ? true : null,
    powerW: null,
  }))
  const healthy = sawTooth({ days: DAYS, noisePct: 0.1, basis }).filter(({ atS }) => atS <= FROM_S)
  const until = new Date(UNTIL_S * 1000).toISOString()
  const log = [
    { atS: BAKED_S, what: 'bake' as const, detail: { tempC: '120', hours: '3' } },
    {
      atS: FROM_S,
      what: 'salt-check' as const,
      detail: { salt: 'MgCl2', shownPct: '32.8', tempC: '15', until },
    },
  ]
  const settings = [{ fromS: 0, settings: SETTINGS }]
  return advance(newMemory(DAY_ZERO_S - 300), { readings: [...healthy, ...jar], log, settings }, UNTIL_S)
}

test('air over a salt is no air that a pump moves: where the pump is only inferred, nothing is known of it after the check', () => {
  const { memory, events } = afterCheck('inferred')
  expect(memory.pump.state).toBe('unknown')
  expect(events.filter(({ event }) => event === 'raised')).toEqual([])
})

test('a pump that is reported on all through a check has dried this engine for no longer than since its end', () => {
  const { memory, events } = afterCheck('reported')
  expect(memory.pump).toMatchObject({ state: 'run', sinceS: UNTIL_S })
  expect(events.filter(({ event }) => event === 'raised')).toEqual([])
})
