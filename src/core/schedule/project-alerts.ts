/**
 * From what the analysis says to the rows people see. Going forward, each event is written and pushed. A rewind tells
 * the past anew: what began and ended there is recorded and not pushed; when it has caught up, the rows are brought to
 * what is open now, and only a difference that somebody has to hear about becomes an event to push.
 */
import type { AlertEvent, Evidence, OpenAlert, RuleName, Urgency } from '../fold/outputs.ts'

/** An alert row, made or brought up to date under its key (rule, raised at). */
export type AlertWrite = {
  readonly rule: RuleName
  readonly raisedAtS: number
  readonly sinceS: number
  readonly urgency: Urgency
  readonly evidence: Evidence
  readonly overAtS: number | null
  readonly overWhy: 'late-input' | null
  /** A rise in urgency opens an alert again that somebody had seen. */
  readonly isRise: boolean
  /** The open row of the same rule that this one continues, by its raised-at; `null`: none. */
  readonly adoptRaisedAtS: number | null
}

export type EventWrite = AlertEvent & { readonly isPast: boolean }

export type KnownAlert = Pick<AlertWrite, 'rule' | 'raisedAtS' | 'sinceS' | 'urgency' | 'evidence'>

export type Projection = { readonly alerts: readonly AlertWrite[]; readonly events: readonly EventWrite[] }

const RANK: Readonly<Record<Urgency, number>> = { note: 0, visit: 1, now: 2 }

/**
 * Going forward. `open`: the alerts open in memory before and after the step. One that stands with new numbers is
 * written without an event.
 */
export function projectForward(
  events: readonly AlertEvent[],
  open: { readonly before: readonly OpenAlert[]; readonly after: readonly OpenAlert[] },
): Projection {
  const urgencies = new Map(open.before.map((alert) => [keyOf(alert), alert.urgency]))
  const alerts = new Map<string, AlertWrite>()
  for (const event of events) {
    const key = keyOf(event)
    const before = alerts.get(key)
    const urgencyBefore = urgencies.get(key)
    const isRise =
      event.event === 'changed' && urgencyBefore !== undefined && RANK[event.urgency] > RANK[urgencyBefore]
    urgencies.set(key, event.urgency)
    alerts.set(key, writeOf(event, { isRise: isRise || before?.isRise === true }))
  }
  const evidences = new Map(open.before.map((alert) => [keyOf(alert), JSON.stringify(alert.evidence)]))
  for (const alert of open.after) {
    const key = keyOf(alert)
    const before = evidences.get(key)
    if (before === undefined || alerts.has(key) || before === JSON.stringify(alert.evidence)) continue
    const standing = { overAtS: null, overWhy: null, isRise: false, adoptRaisedAtS: null }
    alerts.set(key, { ...factsOf(alert), ...standing })
  }
  return { alerts: [...alerts.values()], events: events.map((event) => written(event, false)) }
}

/**
 * While a rewind goes over time that was told before, up to `reachedS`. `known`: the rows open in the table. That an
 * alert people were told of is over is news, whenever it was so; the news is dated where it became known, since it
 * would otherwise look older than the alert it ends and be dropped on its way to a phone.
 */
export function projectPast(
  events: readonly AlertEvent[],
  known: readonly KnownAlert[],
  reachedS: number,
): Projection {
  const openKeys = new Set(known.map(keyOf))
  const alerts: AlertWrite[] = []
  const writes = events.map((event) => {
    if (event.event === 'over') alerts.push(writeOf(event, { isRise: false }))
    const isNews = event.event === 'over' && openKeys.has(keyOf(event))
    return isNews ? newsAt(reachedS, 'over', event) : written(event, true)
  })
  return { alerts, events: writes }
}

/**
 * The rewind has caught up at `gridS`: the open rows are to be those that are open in memory. An alert that goes on
 * under another beginning keeps its row; one that no longer holds is over because of late input; one that is new is
 * raised now.
 */
export function settleRewind(
  openNow: readonly OpenAlert[],
  known: readonly KnownAlert[],
  gridS: number,
): Projection {
  const alerts: AlertWrite[] = []
  const events: EventWrite[] = []
  const knownByKey = new Map(known.map((alert) => [keyOf(alert), alert]))
  const openKeys = new Set(openNow.map(keyOf))
  const orphans = known.filter((alert) => !openKeys.has(keyOf(alert)))
  for (const alert of openNow) {
    const same = knownByKey.get(keyOf(alert))
    const orphan = same === undefined ? takeRule(orphans, alert.rule) : undefined
    const before = same ?? orphan
    const isRise = before !== undefined && RANK[alert.urgency] > RANK[before.urgency]
    alerts.push({
      ...factsOf(alert),
      overAtS: null,
      overWhy: null,
      isRise,
      adoptRaisedAtS: orphan?.raisedAtS ?? null,
    })
    if (before === undefined) events.push(newsAt(gridS, 'raised', alert))
    else if (before.urgency !== alert.urgency) events.push(newsAt(gridS, 'changed', alert))
  }
  for (const alert of orphans) {
    alerts.push({
      ...factsOf(alert),
      overAtS: gridS,
      overWhy: 'late-input',
      isRise: false,
      adoptRaisedAtS: null,
    })
    events.push(newsAt(gridS, 'over', alert))
  }
  return { alerts, events }
}

function takeRule(orphans: KnownAlert[], rule: RuleName): KnownAlert | undefined {
  const index = orphans.findIndex((alert) => alert.rule === rule)
  return index < 0 ? undefined : orphans.splice(index, 1)[0]
}

function keyOf(alert: { readonly rule: RuleName; readonly raisedAtS: number }): string {
  return `${alert.rule} ${alert.raisedAtS}`
}

function factsOf(alert: KnownAlert): KnownAlert {
  const { rule, raisedAtS, sinceS, urgency, evidence } = alert
  return { rule, raisedAtS, sinceS, urgency, evidence }
}

function writeOf(event: AlertEvent, { isRise }: { readonly isRise: boolean }): AlertWrite {
  return {
    ...factsOf(event),
    overAtS: event.event === 'over' ? event.atS : null,
    overWhy: null,
    isRise,
    adoptRaisedAtS: null,
  }
}

function written(event: AlertEvent, isPast: boolean): EventWrite {
  return { ...factsOf(event), atS: event.atS, event: event.event, isPast }
}

function newsAt(gridS: number, event: AlertEvent['event'], alert: KnownAlert): EventWrite {
  return { ...factsOf(alert), atS: gridS, event, isPast: false }
}
