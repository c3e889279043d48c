import { expect, test } from 'vitest'
import { alertSentence } from '../../../src/core/words/alert-words.ts'

test('where only the air shows that the pump runs on, the sentence says so', () => {
  const sinceS = Date.parse('2026-03-01T22:10:00Z') / 1000
  const raisedAtS = Date.parse('2026-03-02T07:30:00Z') / 1000
  const told = (pumpBasis: string) => {
    const evidence = { nowPct: 2, stopPct: 15, pumpBasis }
    const alert = { rule: 'stuck-running', urgency: 'visit', sinceS, raisedAtS, evidence } as const
    return alertSentence(alert, { zone: 'Europe/Lisbon', tempUnit: 'degC' }, raisedAtS)
  }
  expect(told('inferred')).toContain('and it gets no wetter, as it would at rest: the pump runs on.')
  expect(told('reported')).toContain('and the pump runs on.')
  expect(told('reported')).not.toContain('at rest')
})
