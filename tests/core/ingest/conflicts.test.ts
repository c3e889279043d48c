import { expect, test } from 'vitest'
import type { KeptReading } from '../../../src/core/ingest/reading-record.ts'
import { conflictsIn } from '../../../src/core/ingest/take-in.ts'

function reading(index: number, change: Partial<KeptReading>): KeptReading {
  return {
    index,
    rigKey: 1,
    place: 0,
    atS: 1_790_000_000,
    humidityCentiPct: null,
    tempCentiC: null,
    pumpOn: null,
    powerDeciW: null,
    ...change,
  }
}

test('what differs from the row as it is now was set aside; what is in it, or lacks there, was not', () => {
  const held = [reading(0, { humidityCentiPct: 900, pumpOn: 1 }), reading(0, { place: 2, tempCentiC: 1500 })]
  const posted = [
    reading(0, { humidityCentiPct: 900 }),
    reading(1, { pumpOn: 1 }),
    reading(2, { humidityCentiPct: 901 }),
    reading(3, { humidityCentiPct: 900, pumpOn: 0 }),
    reading(4, { place: 2, tempCentiC: 1500 }),
    reading(5, { place: 2, tempCentiC: 1600 }),
    reading(6, { rigKey: 2, humidityCentiPct: 400 }),
    reading(7, { atS: 1_790_000_300, humidityCentiPct: 400 }),
  ]
  expect([...conflictsIn(posted, held)]).toEqual([2, 3, 5])
})

test('where everything was stored nothing is looked at', () => {
  expect(conflictsIn([reading(0, { humidityCentiPct: 900 })], []).size).toBe(0)
})
