import { expect, test } from 'vitest'
import { retryAfterS } from '../../../src/adapters/http/ingest.ts'

const AT_13_H_S = 1_790_000_000 - (1_790_000_000 % 86_400) + 13 * 3600
const UNTIL_MIDNIGHT_S = 11 * 3600

// The platform's own wordings are from memory; what counts is that the day's quota is told from a passing fault.
test.each([
  ['a time-out', 'D1_ERROR: storage operation exceeded timeout which caused object to be reset.', 30],
  ['too much CPU', 'D1_ERROR: D1 DB exceeded its CPU time limit and was reset.', 30],
  ['an overload', 'D1_ERROR: D1 DB is overloaded. Too many requests queued.', 30],
  ['a lost connection', 'Network connection lost.', 30],
  ['the day’s rows written', 'D1_ERROR: Exceeded daily row write limit', UNTIL_MIDNIGHT_S],
  ['the day’s quota', 'D1_ERROR: quota of rows read exceeded', UNTIL_MIDNIGHT_S],
  ['a limit per day', 'D1_ERROR: over the limit of 100000 rows per day', UNTIL_MIDNIGHT_S],
])('after %s a hub is told when to come back', (_, message, seconds) => {
  expect(retryAfterS(new Error(message), AT_13_H_S)).toBe(seconds)
})
