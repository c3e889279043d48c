/**
 * Every sentence about an alert comes from here: messages, screens and replay say the same. Never "the engine is dry":
 * what was read, when, and what follows from it.
 */
import type { Evidence, RuleName } from '../fold/outputs.ts'
import { beadsSpentWords, floorRisingWords, leakWords, swappedWords } from './beads.ts'
import { condensingWords, leftOffWords, wetAfterFlightWords } from './flight.ts'
import { frozenWords, implausibleWords, silentWords } from './hub.ts'
import {
  bandNotReachedWords,
  noDropWords,
  openLoopWords,
  stuckRunningWords,
  wetAndIdleWords,
} from './pump.ts'
import { sayOf, spokenAtS, type RuleWords, type Told } from './say.ts'
import { PLAIN, type Tongue } from './tongue.ts'

const WORDS: Readonly<Record<RuleName, RuleWords>> = {
  'no-drop': noDropWords,
  'band-not-reached': bandNotReachedWords,
  'floor-rising': floorRisingWords,
  'beads-spent': beadsSpentWords,
  leak: leakWords,
  'open-loop': openLoopWords,
  'wet-and-idle': wetAndIdleWords,
  'stuck-running': stuckRunningWords,
  silent: silentWords,
  frozen: frozenWords,
  implausible: implausibleWords,
  'left-off': leftOffWords,
  'wet-after-flight': wetAfterFlightWords,
  condensing: condensingWords,
  swapped: swappedWords,
}

export type Explanation = {
  /** What was seen, with numbers. */
  readonly seen: string
  /** Likeliest first. */
  readonly causes: readonly string[]
  readonly notMeasured: readonly string[]
  /** The test that decides. */
  readonly decides: string
  /** What to look at, in order, cautions included. */
  readonly checks: readonly string[]
}

/** Words of a rule whose name this version does not know: kept alerts outlive rules. */
function wordsOf(rule: RuleName): RuleWords {
  return WORDS[rule]
}

/** "pump on, air not getting drier": a job's title, at most 40 characters, to stand after the rig's name. */
export function alertTitle(alert: Told, tongue: Tongue = PLAIN): string {
  return wordsOf(alert.rule).title(sayOf(alert, tongue, spokenAtS(alert)))
}

/**
 * What was seen, since when and what follows, in the person's zone and unit. Times are said as of `nowS`, which is the
 * alert's own time if not given (messages, replay); a screen gives its clock. An `over` event says how it ended.
 */
export function alertSentence(alert: Told, tongue: Tongue, nowS: number = spokenAtS(alert)): string {
  const say = sayOf(alert, tongue, nowS)
  return 'event' in alert && alert.event === 'over'
    ? overOf(alert, tongue, nowS)
    : wordsOf(alert.rule).sentence(say)
}

function overOf(alert: Told, tongue: Tongue, nowS: number): string {
  const by = alert.evidence['takenOverBy']
  const reason = alert.evidence['endedBy']
  if (reason === 'rewind') return 'Late readings or a changed entry show that it was not so.'
  if (typeof by === 'string' && by in WORDS && alert.rule !== 'floor-rising')
    return 'The same fault is seen better now: see the newer job.'
  return wordsOf(alert.rule).over(sayOf(alert, tongue, nowS))
}

/** How an alert ended, for lists of what is over. */
export function overSentence(alert: Told, tongue: Tongue, nowS: number = spokenAtS(alert)): string {
  return overOf(alert, tongue, nowS)
}

/** What was seen; the likeliest cause and the next; what was not measured; the test that decides; what to look at. */
export function alertExplanation(alert: Told, tongue: Tongue, nowS: number = spokenAtS(alert)): Explanation {
  const say = sayOf(alert, tongue, nowS)
  const words = wordsOf(alert.rule)
  return {
    seen: words.sentence(say),
    causes: words.causes(say),
    notMeasured: words.notMeasured(say),
    decides: words.decides(say),
    checks: words.checks(say),
  }
}

/** What to look at, in order. Where a step can hurt, its caution stands before it. */
export function firstChecks(rule: RuleName, evidence: Evidence): readonly string[] {
  const alert: Told = { rule, urgency: 'visit', sinceS: 0, raisedAtS: 0, evidence }
  return wordsOf(rule).checks(sayOf(alert, PLAIN, 0))
}

const TITLE_MAX = 60
const BODY_MAX = 200
const URGENCY_WORDS = {
  now: 'Drive out now',
  visit: 'On your next visit',
  note: 'Nothing to do',
} as const

/** In the words of the screens: "Drive out now", "On your next visit", "Nothing to do". */
export function urgencyWords(urgency: Told['urgency']): string {
  return URGENCY_WORDS[urgency]
}

function cut(text: string, max: number): string {
  if (text.length <= max) return text
  const room = text.slice(0, max - 1)
  const at = room.lastIndexOf(' ')
  return `${(at > max / 2 ? room.slice(0, at) : room).replace(/[\s,;:]+$/u, '')}…`
}

/** Whole sentences as long as they fit; the first is cut only if it alone is too long. */
function fitSentences(text: string, max: number): string {
  if (text.length <= max) return text
  const sentences = text.split(/(?<=[.?!]) (?=[A-Z])/u)
  let body = ''
  for (const sentence of sentences) {
    const longer = body === '' ? sentence : `${body} ${sentence}`
    if (longer.length > max) break
    body = longer
  }
  return body === '' ? cut(text, max) : body
}

/**
 * The push form: a title of at most 60 and a body of at most 200 characters. The urgency is in the words, not only in
 * the order: a lock screen shows neither colour nor place.
 */
export function pushWords(
  alert: Told,
  rigName: string,
  tongue: Tongue,
  nowS: number = spokenAtS(alert),
): { readonly title: string; readonly body: string } {
  const isOver = 'event' in alert && alert.event === 'over'
  const title = alertTitle(alert, tongue)
  const sentence = alertSentence(alert, tongue, nowS)
  if (isOver)
    return {
      title: cut(`${rigName}: over`, TITLE_MAX),
      body: fitSentences(`${sentence} Was: ${title}.`, BODY_MAX),
    }
  const name = cut(rigName, TITLE_MAX - title.length - 2)
  const lead = alert.urgency === 'note' ? '' : `${urgencyWords(alert.urgency)}. `
  return { title: `${name}: ${title}`, body: lead + fitSentences(sentence, BODY_MAX - lead.length) }
}
