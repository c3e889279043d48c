import type { Urgency } from '../fold/outputs.ts'
import { PUSH_RIGS_NAMED_MAX } from '../limits.ts'
import type { MessageKind } from './decide.ts'

/** What a phone shows. The tag makes a newer message about the same thing replace the older one. */
export type Message = {
  readonly title: string
  readonly body: string
  /** Path within the web app. */
  readonly path: string
  readonly tag: string
  readonly urgency: Urgency | 'over'
  /** Sound again although a message with the same tag is on the screen: something changed, or nobody looked. */
  readonly isNews: boolean
  /** Same for every attempt at the same message, so that the phone can tell a repeat from news. */
  readonly id: string
}

const HEADING: Readonly<Record<Urgency, string>> = {
  now: 'Go now',
  visit: 'Next visit',
  note: 'Note',
}

/** A message about one alert of one rig. `sentence` is the short form of what the rule says. */
export function alertMessage(input: {
  readonly kind: MessageKind
  readonly urgency: Urgency
  readonly alert: string
  readonly atS: number
  readonly rig: { readonly id: string; readonly name: string }
  readonly sentence: string
}): Message {
  const { kind, urgency, rig } = input
  return {
    title: `${headingOf(kind, urgency)}: ${rig.name}`,
    body: input.sentence,
    path: `/rigs/${encodeURIComponent(rig.id)}`,
    tag: input.alert,
    urgency: kind === 'over' ? 'over' : urgency,
    isNews: kind !== 'over',
    id: `${input.alert}/${kind}/${input.atS}`,
  }
}

function headingOf(kind: MessageKind, urgency: Urgency): string {
  if (kind === 'over') return 'Over'
  if (kind === 'reminder') return 'Still open, seen by nobody'
  return HEADING[urgency]
}

/**
 * One message for all rigs of a hangar that are not heard: most often it is one hub, one router, one fuse.
 * It says the whole state, so that the newest one is all that has to be on the screen.
 */
export function silenceMessage(input: {
  readonly hangar: { readonly id: string; readonly name: string }
  readonly silent: readonly { readonly name: string; readonly sinceText: string }[]
  readonly heardAgain: readonly string[]
  readonly urgency: Urgency
  readonly id: string
}): Message {
  const { hangar, silent, heardAgain } = input
  const isOver = silent.length === 0
  const parts: string[] = []
  if (heardAgain.length > 0) parts.push(`Heard again: ${listed(heardAgain)}.`)
  if (silent.length > 0) {
    parts.push(`Not heard: ${listed(silent.map((rig) => `${rig.name} (since ${rig.sinceText})`))}.`)
    if (silent.length > 1) parts.push('Look first at what they share: hub, network, mains.')
  }
  const heading = isOver
    ? 'Over'
    : silent.length === 1
      ? HEADING[input.urgency]
      : `${silent.length} rigs not heard`
  return {
    title: `${heading}: ${hangar.name}`,
    body: parts.join(' '),
    path: '/',
    tag: `silent-${hangar.id}`,
    urgency: isOver ? 'over' : input.urgency,
    isNews: !isOver && heardAgain.length === 0,
    id: input.id,
  }
}

function listed(names: readonly string[]): string {
  const named = names.slice(0, PUSH_RIGS_NAMED_MAX)
  const more = names.length - named.length
  return more > 0 ? `${named.join(', ')} and ${more} more` : named.join(', ')
}

/** Sent on request, to see that a device can be reached at all. */
export function testMessage(device: { readonly id: string; readonly name: string }, atS: number): Message {
  return {
    title: 'Beadwatch can reach this device',
    body: `This is the test message for "${device.name}". Alerts come the same way; silence is not proof of a dry engine.`,
    path: '/settings',
    tag: `test-${device.id}`,
    urgency: 'now',
    isNews: true,
    id: `test/${device.id}/${atS}`,
  }
}
