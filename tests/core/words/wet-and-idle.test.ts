import { expect, test } from 'vitest'
import { alertSentence } from '../../../src/core/words/alert-words.ts'

test('an outlet that missed its switch is told so when the warmth of the day has brought the air back into the band', () => {
  const sinceS = Date.parse('2026-03-01T22:10:00Z') / 1000
  const raisedAtS = Date.parse('2026-03-02T01:30:00Z') / 1000
  const evidence = { nowPct: 13, startPct: 15, metalPct: 24, t40H: null, metalLimitPct: 38 }
  const alert = { rule: 'wet-and-idle', urgency: 'visit', sinceS, raisedAtS, evidence } as const
  expect(alertSentence(alert, { zone: 'Europe/Lisbon', tempUnit: 'degC' }, raisedAtS)).toMatch(
    /^The air went above the 15 % at which the pump should start, from 22:10 on, and the pump has not run since; the air is at 13 % now\./u,
  )
})
