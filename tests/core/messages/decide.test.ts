import { describe, expect, test } from 'vitest'
import { decide, type Waiting } from '../../../src/core/messages/decide.ts'

const nightS = Date.parse('2026-11-25T23:00:00Z') / 1000
const morningS = Date.parse('2026-11-26T07:00:00Z') / 1000
const quiet = { fromMin: 22 * 60, toMin: 7 * 60, zone: 'UTC' }

function waiting(change: Partial<Waiting>): Waiting {
  return {
    kind: 'raised',
    urgency: 'visit',
    createdAtS: nightS - 60,
    attempts: 0,
    alert: { state: 'open', urgency: change.urgency ?? 'visit' },
    hasNewer: false,
    mayKnow: false,
    quiet: null,
    isQuietForNow: false,
    ...change,
  }
}

const send = { act: 'send' }
const wait = { act: 'wait', untilS: morningS }
const drop = (why: string) => ({ act: 'drop', why })

describe('quiet hours', () => {
  test.each<[string, Partial<Waiting>, object]>([
    ['none', {}, send],
    ['a visit waits', { quiet }, wait],
    ['now does not', { quiet, urgency: 'now' }, send],
    ['unless chosen', { quiet, urgency: 'now', isQuietForNow: true }, wait],
    ['a reminder of now does not', { quiet, urgency: 'now', kind: 'reminder' }, send],
    [
      'good news waits, also of a now',
      { quiet, urgency: 'now', kind: 'over', mayKnow: true, alert: { state: 'over', urgency: 'now' } },
      wait,
    ],
  ])('%s', (_, change, decision) => {
    expect(decide(waiting(change), nightS)).toEqual(decision)
  })
})

describe('what has no point any more', () => {
  const over = { state: 'over', urgency: 'visit' } as const
  test.each<[string, Partial<Waiting>, object]>([
    ['rig deleted', { alert: null }, drop('deleted')],
    ['ended before it was said', { alert: over }, drop('over-already')],
    ['a newer one waits', { hasNewer: true }, drop('superseded')],
    ['over, to someone never told', { kind: 'over', alert: over }, drop('never-told')],
    ['over, to someone told', { kind: 'over', alert: over, mayKnow: true }, send],
    [
      'reminder of one seen',
      { kind: 'reminder', urgency: 'now', alert: { state: 'seen', urgency: 'now' } },
      drop('seen'),
    ],
    [
      'reminder of one less urgent by now',
      { kind: 'reminder', urgency: 'now', alert: { state: 'open', urgency: 'visit' } },
      drop('seen'),
    ],
    ['seen by someone else, first message', { alert: { state: 'seen', urgency: 'visit' } }, send],
    ['a week old', { createdAtS: nightS - 7 * 86_400 - 1 }, drop('expired')],
    ['tried too often', { attempts: 120 }, drop('expired')],
  ])('%s', (_, change, decision) => {
    expect(decide(waiting(change), nightS)).toEqual(decision)
  })
})
