import type { Message } from './message.ts'

/**
 * The JSON of a message in the declarative form (Push API, "declarative push message": `web_push` is 8030).
 * A browser that knows it shows the notification without running our script; any other hands the same JSON to
 * the service worker. The body is shortened until the whole is at most `maxBytes` of UTF-8.
 * `origin` is the address the device uses the app under, since `navigate` has to be absolute.
 */
export function payloadOf(message: Message, origin: string, maxBytes: number): string {
  const whole = written(message, origin, message.body)
  if (utf8Bytes(whole) <= maxBytes) return whole
  const letters = Array.from(message.body)
  let low = 0
  let high = letters.length
  // The longest beginning that fits, by halving: escaping makes the bytes of a letter hard to tell beforehand.
  while (low < high) {
    const middle = Math.ceil((low + high) / 2)
    const fits = utf8Bytes(written(message, origin, shortened(letters, middle))) <= maxBytes
    if (fits) low = middle
    else high = middle - 1
  }
  return written(message, origin, shortened(letters, low))
}

function shortened(letters: readonly string[], count: number): string {
  return `${letters.slice(0, count).join('').trimEnd()}…`
}

/** A title is a name plus a few words; names are limited where they are entered, this is the second fence. */
const TITLE_MAX_LETTERS = 120

function written(message: Message, origin: string, body: string): string {
  return JSON.stringify({
    web_push: 8030,
    notification: {
      title: Array.from(message.title).slice(0, TITLE_MAX_LETTERS).join(''),
      lang: 'en',
      body,
      navigate: `${origin}${message.path}`,
      tag: message.tag,
      renotify: message.isNews,
      requireInteraction: message.urgency === 'now',
      data: { id: message.id, urgency: message.urgency },
    },
  })
}

/** Bytes of `text` in UTF-8. */
export function utf8Bytes(text: string): number {
  let bytes = 0
  for (const letter of text) {
    const code = letter.codePointAt(0) ?? 0
    bytes += code < 0x80 ? 1 : code < 0x800 ? 2 : code < 0x10000 ? 3 : 4
  }
  return bytes
}
