import { expect, test } from 'vitest'
import { backOffS } from '../../../src/core/messages/back-off.ts'

test.each([
  ['first failure, luckiest draw', 1, 0, null, 30],
  ['first failure, unluckiest draw', 1, 1, null, 60],
  ['doubles', 3, 1, null, 240],
  ['stops at an hour', 30, 1, null, 3600],
  ['Retry-After is never undercut', 1, 0, 600, 600],
  ['Retry-After gets jitter on top', 1, 1, 600, 630],
  ['Retry-After shorter than our own wait', 4, 1, 1, 480],
  ['an absurd Retry-After is a day', 1, 0, 1e9, 86_400],
  ['a negative one is none', 1, 1, -5, 60],
])('%s', (_, attempts, draw, retryAfterS, waitS) => {
  expect(backOffS({ attempts, draw, retryAfterS })).toBe(waitS)
})
