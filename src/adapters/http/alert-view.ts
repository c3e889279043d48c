/** An alert as it leaves: its sentences in the reader's time zone and unit, the numbers behind them beside. */
import type { z } from '@hono/zod-openapi'
import { alertExplanation, alertSentence, alertTitle, overSentence } from '../../core/words/alert-words.ts'
import type { Told } from '../../core/words/say.ts'
import { PLAIN, type Tongue } from '../../core/words/tongue.ts'
import type { AlertRow } from '../../flows/ports.ts'
import { personOf } from './caller.ts'
import type { Caller } from './context.ts'
import type { alert } from './schemas/alerts.ts'
import { timeOf, timeOrNull } from './time.ts'

/** Scripts without a person are answered in UTC and degrees Celsius. */
export function tongueOf(caller: Caller): Tongue {
  const person = personOf(caller)
  return person === null ? PLAIN : { zone: person.zone, tempUnit: person.unit }
}

/** Open alerts speak as of now; those that are over, of how they ended. */
export function alertView(row: AlertRow, tongue: Tongue, nowS: number): z.input<typeof alert> {
  const { rule, urgency, sinceS, raisedAtS, evidence } = row
  const told: Told = { rule, urgency, sinceS, raisedAtS, evidence }
  const explained = alertExplanation(told, tongue, nowS)
  return {
    id: row.id,
    rig: row.rig,
    hangar: row.hangar,
    rule,
    urgency,
    state: row.state,
    since: timeOf(sinceS),
    raisedAt: timeOf(raisedAtS),
    overAt: timeOrNull(row.overAtS),
    overWhy: row.overWhy,
    seenAt: timeOrNull(row.seenAtS),
    title: alertTitle(told, tongue),
    sentence: row.overAtS === null ? alertSentence(told, tongue, nowS) : overText(row, row.overAtS, tongue),
    causes: [...explained.causes],
    notMeasured: [...explained.notMeasured],
    decides: explained.decides,
    check: [...explained.checks],
    evidence: { ...evidence },
  }
}

function overText(row: AlertRow, atS: number, tongue: Tongue): string {
  const { rule, urgency, sinceS, raisedAtS } = row
  const evidence = row.overWhy === null ? row.evidence : { ...row.evidence, endedBy: 'rewind' }
  return overSentence({ event: 'over', atS, rule, urgency, sinceS, raisedAtS, evidence }, tongue)
}
