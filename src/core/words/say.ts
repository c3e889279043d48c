import type { AlertEvent, Evidence, OpenAlert } from '../fold/outputs.ts'
import { moment, temp, type Tongue } from './tongue.ts'

/** What has a sentence: an alert that is open, or a change of one. */
export type Told = OpenAlert | AlertEvent

/** An alert's evidence with the person's units and times: what a rule's words are made from. */
export type Say = {
  readonly alert: Told
  /** A number of the evidence, or `null`. */
  readonly number: (name: string) => number | null
  readonly text: (name: string) => string | null
  readonly is: (name: string) => boolean
  /** A time of the evidence as people write it; "an unknown time" if it is not there. */
  readonly time: (name: string) => string
  readonly moment: (atS: number) => string
  readonly temp: (tempC: number) => string
  readonly nowS: number
  readonly tongue: Tongue
}

export function numberOf(evidence: Evidence, name: string): number | null {
  const value = evidence[name]
  return typeof value === 'number' && Number.isFinite(value) ? value : null
}

export function sayOf(alert: Told, tongue: Tongue, nowS: number): Say {
  const { evidence } = alert
  const numberNamed = (name: string): number | null => numberOf(evidence, name)
  return {
    alert,
    number: numberNamed,
    text: (name) => {
      const value = evidence[name]
      return typeof value === 'string' ? value : null
    },
    is: (name) => evidence[name] === true,
    time: (name) => {
      const atS = numberNamed(name)
      return atS === null ? 'an unknown time' : moment(atS, tongue, nowS)
    },
    moment: (atS) => moment(atS, tongue, nowS),
    temp: (tempC) => temp(tempC, tongue),
    nowS,
    tongue,
  }
}

/** The instant an alert is spoken of: the change's own time, else when it was raised. */
export function spokenAtS(alert: Told): number {
  return 'atS' in alert ? alert.atS : alert.raisedAtS
}

/** How one rule's findings are put into words. All plain sentences, with the numbers in them. */
export type RuleWords = {
  /** At most 40 characters, no full stop: stands after the rig's name as the title of a job. */
  readonly title: (say: Say) => string
  /** What was seen, since when, and what follows. Short enough for a message. */
  readonly sentence: (say: Say) => string
  /** The likeliest cause first, then the next. */
  readonly causes: (say: Say) => readonly string[]
  /** What nobody measured, so that the finding rests on less. */
  readonly notMeasured: (say: Say) => readonly string[]
  /** The test that decides between the causes. */
  readonly decides: (say: Say) => string
  /** What to look at, in order. */
  readonly checks: (say: Say) => readonly string[]
  /** How it ended. */
  readonly over: (say: Say) => string
}
