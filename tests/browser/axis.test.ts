import { expect, test } from 'vitest'
import { withLimits } from '../../clients/web/src/chart/quantity.ts'

test.each([
  ['between the ticks', [5, 10, 20], [6, 15], [6, 10, 15, 20]],
  ['on a tick', [0, 5, 10, 20], [5, 15], [0, 5, 10, 15, 20]],
  ['near to one', [0, 10, 20, 40], [9.5, 21], [0, 9.5, 21, 40]],
])('limits of the band %s are on the axis, and nothing is written over them', (_, ticks, limits, shown) => {
  expect(withLimits(ticks, limits, { low: 0, high: 60, heightPx: 300 })).toEqual(shown)
})
