import type { AlertEvent } from '../core/fold/outputs.ts'
import { alertMessage, silenceMessage, type Message } from '../core/messages/message.ts'
import type { Tongue } from '../core/words/tongue.ts'
import type { Group, Ready, SilentRig } from './message-ports.ts'

/** What a rule says about a change, for a lock screen, in the reader's zone and unit. */
export type Words = (
  event: AlertEvent,
  rigName: string,
  tongue: Tongue,
) => { readonly title: string; readonly body: string }

/** The message for a group of rows: one alert, or all silence of a hangar in one. */
export function writeMessage(
  group: Group,
  silent: ReadonlyMap<string, readonly SilentRig[]>,
  words: Words,
): Message {
  const first = group.rows[0]
  if (!first) throw new Error('a message is about at least one alert')
  return first.rule === 'silent' ? aboutSilence(group, first, silent) : aboutAlert(group, first, words)
}

function aboutAlert(group: Group, row: Ready, words: Words): Message {
  const { alertNow } = row
  const event: AlertEvent = {
    event: row.kind === 'reminder' ? 'raised' : row.kind,
    rule: row.rule,
    urgency: row.urgency,
    atS: row.kind === 'over' ? (alertNow.overAtS ?? row.atS) : row.atS,
    sinceS: alertNow.sinceS,
    raisedAtS: alertNow.raisedAtS,
    evidence: alertNow.evidence,
  }
  return alertMessage({
    kind: row.kind,
    urgency: row.urgency,
    alert: row.alert,
    atS: row.atS,
    rig: row.rig,
    words: words(event, alertNow.rigName, group.to.tongue),
  })
}

function aboutSilence(
  group: Group,
  first: Ready,
  silent: ReadonlyMap<string, readonly SilentRig[]>,
): Message {
  const { hangarName, tongue } = group.to
  const notHeard = namedAsSilent(group, silent)
  const again = group.rows.filter((row) => row.kind === 'over').map((row) => row.alertNow.rigName)
  const atS = Math.max(...group.rows.map((row) => row.atS))
  return silenceMessage({
    hangar: { id: first.hangar, name: hangarName },
    silent: notHeard.map((one) => ({ name: one.rigName, sinceText: clockText(one.sinceS, tongue.zone) })),
    heardAgain: again,
    urgency: group.rows.some((row) => row.urgency === 'now' && row.kind !== 'over') ? 'now' : first.urgency,
    id: `silent-${first.hangar}/${atS}`,
  })
}

/** The rigs that a message about silence names: all silent ones of the hangar that the device wants to hear about. */
export function namedAsSilent(
  group: Group,
  silent: ReadonlyMap<string, readonly SilentRig[]>,
): readonly SilentRig[] {
  const [first] = group.rows
  if (first?.rule !== 'silent') return []
  const { rigs } = group.to
  return (silent.get(first.hangar) ?? []).filter(
    (one) => rigs === null || rigs.includes(one.rig) || group.rows.some((row) => row.rig === one.rig),
  )
}

/** Weekday and time of day in the reader's zone, e.g. "Tue 06:10". */
export function clockText(atS: number, zone: string): string {
  return new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    weekday: 'short',
    hour: '2-digit',
    minute: '2-digit',
    hourCycle: 'h23',
  })
    .format(atS * 1000)
    .replace(',', '')
}
