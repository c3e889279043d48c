import { expect, test } from 'vitest'
import type { OpenAlert } from '../../../src/core/fold/outputs.ts'
import { alertSentence } from '../../../src/core/words/alert-words.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'

const RAISED_S = Date.parse('2026-03-02T01:30:00Z') / 1000
const HOUR_S = 3600

const alert: OpenAlert = {
  rule: 'wet-and-idle',
  urgency: 'now',
  sinceS: RAISED_S,
  raisedAtS: RAISED_S,
  evidence: {
    nowPct: 30,
    startPct: 15,
    metalPct: 28,
    metalLimitPct: 70,
    t40H: 7,
    passes40AtS: RAISED_S + 7 * HOUR_S,
  },
}

test.each([
  ['as it is raised', 0, /passes 40 % in 7 hours at the earliest\.$/u],
  ['five hours later', 5, /passes 40 % in 2 hours at the earliest\.$/u],
  ['the next day', 24, /may be past 40 % by now\.$/u],
])('what is left until the metal is at 40 %% goes down: %s', (_, laterH, said) => {
  expect(alertSentence(alert, PLAIN, RAISED_S + laterH * HOUR_S)).toMatch(said)
})
