import type { Urgency } from '../fold/outputs.ts'
import { PUSH_RIGS_NAMED_MAX } from '../limits.ts'
import { urgencyWords } from '../words/alert-words.ts'
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

/** A message about one alert of one rig. `words` are what the rule says, for a lock screen. */
export function alertMessage(input: {
  readonly kind: MessageKind
  readonly urgency: Urgency
  readonly alert: string
  readonly atS: number
  readonly rig: string
  readonly words: { readonly title: string; readonly body: string }
}): Message {
  const { kind, urgency, words } = input
  return {
    title: words.title,
    body: kind === 'reminder' ? `Still open, and marked as seen by nobody. ${words.body}` : words.body,
    path: `/rigs/${encodeURIComponent(input.rig)}`,
    tag: input.alert,
    urgency: kind === 'over' ? 'over' : urgency,
    isNews: kind !== 'over',
    id: `${input.alert}/${kind}/${input.atS}`,
  }
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
  if (!isOver) parts.push(`${urgencyWords(input.urgency)}.`)
  return {
    title: `${hangar.name}: ${silenceTitle(silent.length)}`,
    body: parts.join(' '),
    path: '/',
    tag: `silent-${hangar.id}`,
    urgency: isOver ? 'over' : input.urgency,
    isNews: !isOver && heardAgain.length === 0,
    id: input.id,
  }
}

function silenceTitle(silent: number): string {
  if (silent === 0) return 'heard again'
  return silent === 1 ? 'a rig is not heard' : `${silent} rigs are not heard`
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
    path: '/messages',
    tag: `test-${device.id}`,
    urgency: 'now',
    isNews: true,
    id: `test/${device.id}/${atS}`,
  }
}
