import { readKept, writeKept } from './kept.ts'
import { scope } from './scope.ts'

type Shown = {
  readonly title: string
  readonly body: string
  readonly tag: string
  readonly navigate: string
  readonly isNews: boolean
  readonly isPressing: boolean
  readonly id: string
}

/** Ids remembered, so that a message delivered again makes no second sound. More than one hangar has open at a time. */
const idsKept = 100

/**
 * Shows what a push message says. The tag replaces an older message about the same alert. Every message has to be
 * shown, or the browser takes the permission away: one that came before is put up again without a sound.
 */
export async function showMessage(text: string): Promise<void> {
  const shown = read(text)
  const isRepeat = await isKnown(shown.id)
  const options = {
    body: shown.body,
    tag: shown.tag,
    lang: 'en',
    icon: '/icon-192.png',
    badge: '/icon-192.png',
    requireInteraction: shown.isPressing,
    renotify: shown.isNews && !isRepeat,
    silent: isRepeat,
    data: { navigate: shown.navigate, id: shown.id },
  }
  await scope.registration.showNotification(shown.title, options)
}

async function isKnown(id: string): Promise<boolean> {
  try {
    const kept = await readKept('shown')
    const ids = Array.isArray(kept) ? kept.filter((one) => typeof one === 'string') : []
    if (ids.includes(id)) return true
    await writeKept('shown', [...ids, id].slice(-idsKept))
  } catch {
    // Without a store a repeat may sound twice; that is better than not showing it.
  }
  return false
}

/** The declarative form. Anything else still says that there is something to see. */
function read(text: string): Shown {
  const message = field(parse(text), 'notification')
  const data = field(message, 'data')
  const tag = textOf(field(message, 'tag'), 'message')
  return {
    title: textOf(field(message, 'title'), 'Beadwatch has a message'),
    body: textOf(field(message, 'body'), 'Open the app to read it.'),
    tag,
    navigate: textOf(field(message, 'navigate'), '/'),
    isNews: field(message, 'renotify') === true,
    isPressing: field(message, 'requireInteraction') === true,
    id: textOf(field(data, 'id'), `${tag}/${text.length}`),
  }
}

function parse(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return null
  }
}

function field(value: unknown, name: string): unknown {
  return typeof value === 'object' && value !== null ? Reflect.get(value, name) : undefined
}

function textOf(value: unknown, otherwise: string): string {
  return typeof value === 'string' && value !== '' ? value : otherwise
}
