import { expect, test } from 'vitest'
import { waterBudgetG } from '../../../src/core/trace/water-budget.ts'

test.each([
  ['no flight is known: the most there may be', 0, 0, 40],
  ['one flight says nothing of the next', 1, 3, 40],
  ['four times the larger of two', 2, 6, 24],
  ['no more than there may be, at first', 2, 15, 40],
  ['two and a half times the largest of four', 4, 8, 20],
  ['twice the largest of six and more', 6, 8, 16],
  ['but no less than a wet flight leaves', 20, 2, 10],
  ['and twice what was seen, however much that was', 12, 30, 60],
])('%s', (_, flightsKnown, largestG, budgetG) => {
  expect(waterBudgetG({ flightsKnown, largestG })).toBe(budgetG)
})
