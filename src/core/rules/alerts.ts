import type { AlertEvent, Evidence, OpenAlert, RuleName, Unknown } from '../fold/outputs.ts'
import { bandNotReached } from './band-not-reached.ts'
import { beadsSpent } from './beads-spent.ts'
import { condensing } from './condensing.ts'
import { floorRising } from './floor-rising.ts'
import { frozen } from './frozen.ts'
import { implausible } from './implausible.ts'
import { leak } from './leak.ts'
import { leftOff } from './left-off.ts'
import { noDrop } from './no-drop.ts'
import { openLoop } from './open-loop.ts'
import type { Judges, Moment, Verdict } from './rule.ts'
import { silent } from './silent.ts'
import { stuckRunning } from './stuck-running.ts'
import { swapped } from './swapped.ts'
import { wetAfterFlight } from './wet-after-flight.ts'
import { wetAndIdle } from './wet-and-idle.ts'

/** Memory of all rules: JSON, bounded, a few kilobytes. */
export type RulesMemory = {
  /** Each rule's own memory, by its name. */
  readonly rules: Record<string, unknown>
  open: OpenAlert[]
  /** The day (UTC, since 1970) of the evidence of each rule's alert. */
  readonly evidenceDay: Partial<Record<RuleName, number>>
  /** What a rule lacked at its last judgement, in the order of the rules. */
  unknown: Unknown[]
}

export type RulesStep = {
  readonly memory: RulesMemory
  readonly events: readonly AlertEvent[]
  readonly open: readonly OpenAlert[]
  readonly unknown: readonly Unknown[]
}

/**
 * Rules of different memories in one list. Written as methods so that a rule may ask for its own kind of memory: that is
 * sound because a memory is only ever made by the `start` of the rule it is handed to.
 */
type AnyRule = {
  readonly name: RuleName
  start(): unknown
  step(memory: unknown, moment: Moment, open: OpenAlert | null, others: readonly OpenAlert[]): Verdict
  pause(memory: unknown, moment: Moment): void
  readonly judges?: Judges
}

/** In order of judgement: what blinds or explains other rules comes before them. */
const RULES: readonly AnyRule[] = [
  silent,
  frozen,
  openLoop,
  noDrop,
  leak,
  beadsSpent,
  bandNotReached,
  floorRising,
  wetAndIdle,
  stuckRunning,
  leftOff,
  wetAfterFlight,
  condensing,
  swapped,
  implausible,
]

/** While one of these is open the rig's readings mean nothing: no other alert is raised, changed or ended. */
const BLINDING: ReadonlySet<RuleName> = new Set(['silent', 'frozen'])

/**
 * One fault, one alert. While the rule on the left is open, those on the right are not raised: it explains them.
 * A dead pump makes every run endless and every rate zero; an open loop keeps the air wet whatever the beads do; a
 * leak multiplies run time, which is what a rising floor is judged by; beads that are spent have a risen floor.
 */
const EXPLAINS: Partial<Record<RuleName, readonly RuleName[]>> = {
  'no-drop': ['band-not-reached', 'floor-rising', 'leak'],
  'open-loop': ['no-drop', 'band-not-reached', 'floor-rising', 'leak'],
  leak: ['floor-rising'],
  'beads-spent': ['floor-rising'],
}

/**
 * Where the new alert is the same fault seen better, the old one ends as taken over. A dead pump is another fault
 * than the floor that had been rising for weeks: that alert waits, unchanged.
 */
const TAKES_OVER: Partial<Record<RuleName, readonly RuleName[]>> = {
  // A sensor that stands still looks like a dead pump, a stuck outlet or spent beads until enough readings are equal.
  frozen: ['no-drop', 'open-loop', 'band-not-reached', 'wet-and-idle', 'stuck-running'],
  'open-loop': ['no-drop', 'band-not-reached'],
  leak: ['floor-rising'],
  'beads-spent': ['floor-rising'],
}

const NO_EVENTS: readonly AlertEvent[] = []

export function startRules(): RulesMemory {
  const rules: Record<string, unknown> = {}
  for (const rule of RULES) rules[rule.name] = rule.start()
  return { rules, open: [], evidenceDay: {}, unknown: [] }
}

function openOf(memory: RulesMemory, rule: RuleName): OpenAlert | null {
  for (const alert of memory.open) if (alert.rule === rule) return alert
  return null
}

function isListed(
  table: Partial<Record<RuleName, readonly RuleName[]>>,
  by: RuleName,
  rule: RuleName,
): boolean {
  return table[by]?.includes(rule) ?? false
}

/** True while an open alert explains what `rule` would say, or blinds it. */
function isSuppressed(open: readonly OpenAlert[], rule: RuleName): boolean {
  for (const alert of open) if (isListed(EXPLAINS, alert.rule, rule)) return true
  return false
}

function isBlind(open: readonly OpenAlert[], rule: RuleName): boolean {
  if (BLINDING.has(rule)) return false
  for (const alert of open) if (BLINDING.has(alert.rule)) return true
  return false
}

function mayJudge(rule: AnyRule, moment: Moment): boolean {
  if (moment.isGap && rule.judges?.gap !== true) return false
  return moment.suspended === null || (rule.judges?.suspended?.includes(moment.suspended) ?? false)
}

function eventOf(atS: number, event: AlertEvent['event'], alert: OpenAlert): AlertEvent {
  return { atS, event, ...alert }
}

function end(memory: RulesMemory, alert: OpenAlert, atS: number, evidence: Evidence): AlertEvent {
  memory.open = memory.open.filter((other) => other !== alert)
  delete memory.evidenceDay[alert.rule]
  return eventOf(atS, 'over', { ...alert, evidence })
}

function raise(
  memory: RulesMemory,
  rule: RuleName,
  verdict: Verdict & { kind: 'holds' },
  atS: number,
): AlertEvent[] {
  const events: AlertEvent[] = []
  let sinceS = verdict.sinceS
  for (const other of memory.open) {
    // A frozen sensor explains only what began after it froze.
    if (!isListed(TAKES_OVER, rule, other.rule) || (rule === 'frozen' && other.sinceS < verdict.sinceS))
      continue
    if (rule !== 'frozen') sinceS = Math.min(sinceS, other.sinceS)
    events.push(end(memory, other, atS, { ...other.evidence, takenOverBy: rule }))
  }
  const { urgency, evidence } = verdict
  const alert: OpenAlert = { rule, urgency, sinceS, raisedAtS: atS, evidence }
  memory.open = [...memory.open, alert]
  memory.evidenceDay[rule] = dayOf(atS)
  events.push(eventOf(atS, 'raised', alert))
  return events
}

const DAY_S = 86_400
const dayOf = (atS: number): number => Math.floor(atS / DAY_S)

/**
 * An alert that stands for weeks says today's numbers, not those of the day it was raised: once a day, with the first that its
 * rule gives, or as soon as that has news. No event: nobody is told again.
 */
function renew(
  memory: RulesMemory,
  open: OpenAlert,
  { evidence, isNews }: Verdict & { kind: 'holds' },
  atS: number,
): void {
  const day = dayOf(atS)
  if (memory.evidenceDay[open.rule] === day && isNews !== true) return
  memory.evidenceDay[open.rule] = day
  memory.open = memory.open.map((other) => (other === open ? { ...open, evidence } : other))
}

/** What a verdict does to the alert of its rule. */
function settle(memory: RulesMemory, rule: RuleName, verdict: Verdict, atS: number): readonly AlertEvent[] {
  if (verdict.kind === 'same' || verdict.kind === 'unknown') return NO_EVENTS
  const open = openOf(memory, rule)
  if (verdict.kind === 'clear') {
    return open === null ? NO_EVENTS : [end(memory, open, atS, { ...open.evidence, ...verdict.evidence })]
  }
  if (open === null) return raise(memory, rule, verdict, atS)
  if (isSuppressed(memory.open, rule)) return NO_EVENTS
  if (open.urgency === verdict.urgency) {
    renew(memory, open, verdict, atS)
    return NO_EVENTS
  }
  const changed: OpenAlert = { ...open, urgency: verdict.urgency, evidence: verdict.evidence }
  memory.open = memory.open.map((other) => (other === open ? changed : other))
  memory.evidenceDay[rule] = dayOf(atS)
  return [eventOf(atS, 'changed', changed)]
}

const placeOf = ({ what }: Unknown): number => RULES.findIndex(({ name }) => name === what)

let lacksOf: RulesMemory['unknown'] | null = null
let lacks: readonly (string | undefined)[] = []

/** Why each rule lacks what it needs, in the order of the rules: looked up once per list, as `ownMemories`. */
function lacksInOrder(unknown: RulesMemory['unknown']): typeof lacks {
  if (unknown !== lacksOf) {
    lacks = RULES.map(({ name }) => unknown.find(({ what }) => what === name)?.why)
    lacksOf = unknown
  }
  return lacks
}

/** Keeps the list of what cannot be told; the list is the same object as long as nothing in it changes. */
function noteLack(memory: RulesMemory, index: number, rule: RuleName, verdict: Verdict): void {
  const why = verdict.kind === 'unknown' ? verdict.why : undefined
  if (lacksInOrder(memory.unknown)[index] === why) return
  const others = memory.unknown.filter(({ what }) => what !== rule)
  memory.unknown = why === undefined ? others : [...others, { what: rule, why }]
  memory.unknown.sort((a, b) => placeOf(a) - placeOf(b))
}

const ORDER: Readonly<Record<AlertEvent['event'], number>> = { over: 0, raised: 1, changed: 2 }

let heldOf: RulesMemory['rules'] | null = null
let held: readonly unknown[] = []

/** The rules' own memories in the order of the rules: looked up by name once per memory, not at every grid time. */
function ownMemories(rules: RulesMemory['rules']): readonly unknown[] {
  if (rules !== heldOf) {
    held = RULES.map(({ name }) => rules[name])
    heldOf = rules
  }
  return held
}

/**
 * Runs every rule at one grid time and decides what is raised, changed and over. Writes into `memory` in place (the
 * caller clones it once per advance, not once per grid time) and returns it. Events come as over, raised, changed, and
 * within these in the order of the rules, so that the same inputs always give the same list. Never throws for any
 * readings. `open` and `unknown` keep their identity while nothing in them changes.
 */
export function stepRules(memory: RulesMemory, moment: Moment): RulesStep {
  let events: AlertEvent[] | null = null
  const owns = ownMemories(memory.rules)
  const isOrdinary = !moment.isGap && moment.suspended === null
  for (let index = 0; index < RULES.length; index++) {
    const rule = RULES[index]
    if (rule === undefined) break
    const own = owns[index]
    const isAnyOpen = memory.open.length > 0
    if (isAnyOpen && isBlind(memory.open, rule.name)) {
      rule.pause(own, moment)
      continue
    }
    const open = isAnyOpen ? openOf(memory, rule.name) : null
    const mayStep = isOrdinary || mayJudge(rule, moment)
    if (!mayStep || (isAnyOpen && open === null && isSuppressed(memory.open, rule.name))) {
      rule.pause(own, moment)
      continue
    }
    const verdict = rule.step(own, moment, open, memory.open)
    if (verdict.kind === 'same') continue
    noteLack(memory, index, rule.name, verdict)
    // Nearly always nothing is open and nothing holds.
    if (verdict.kind === 'unknown' || (verdict.kind === 'clear' && open === null)) continue
    const found = settle(memory, rule.name, verdict, moment.atS)
    if (found.length > 0) events = events === null ? [...found] : [...events, ...found]
  }
  events?.sort((a, b) => ORDER[a.event] - ORDER[b.event])
  return { memory, events: events ?? NO_EVENTS, open: memory.open, unknown: memory.unknown }
}
