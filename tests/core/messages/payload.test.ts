import { expect, test } from 'vitest'
import { silenceMessage, type Message } from '../../../src/core/messages/message.ts'
import { payloadOf, utf8Bytes } from '../../../src/core/messages/payload.ts'

const short: Message = {
  title: 'Next visit: Heron',
  body: 'Bake the beads.',
  path: '/rigs/r1',
  tag: 'a1',
  urgency: 'visit',
  isNews: true,
  id: 'a1/raised/1',
}

test('a short message is whole', () => {
  const payload = JSON.parse(payloadOf(short, 'https://dry.example', 3000))
  expect(payload.notification).toMatchObject({
    body: 'Bake the beads.',
    navigate: 'https://dry.example/rigs/r1',
  })
})

test.each([
  ['plain letters', 'a'.repeat(9000)],
  ['letters of three bytes', '露'.repeat(4000)],
  ['letters outside the first plane', '🌫'.repeat(4000)],
  ['what JSON has to escape', '"\\\n'.repeat(3000)],
])('a long message of %s is cut to the limit between two letters', (_, body) => {
  for (const maxBytes of [600, 3000]) {
    const text = payloadOf({ ...short, body }, 'https://dry.example', maxBytes)
    const bytes = Buffer.byteLength(text)
    expect(bytes).toBeLessThanOrEqual(maxBytes)
    expect(bytes).toBeGreaterThan(maxBytes - 12)
    const shown = JSON.parse(text).notification.body
    expect(shown.endsWith('…')).toBe(true)
    expect(body.startsWith(shown.slice(0, -1).trimEnd())).toBe(true)
    expect(shown).not.toContain('\uFFFD')
  }
})

test.each(['', 'abc', 'é', '露', '🌫', 'a🌫é露'])('bytes of "%s" as the encoder counts them', (text) => {
  expect(utf8Bytes(text)).toBe(Buffer.byteLength(text))
})

test('one message for a hangar names every silent rig, and says how many more', () => {
  const names = ['Heron', 'Marten', 'Otter', 'Plover', 'Stoat', 'Teal', 'Vole', 'Wren']
  const message = silenceMessage({
    hangar: { id: 'h1', name: 'North Row' },
    silent: names.map((name) => ({ name, sinceText: 'Tue 06:10' })),
    heardAgain: [],
    urgency: 'visit',
    id: 'x',
  })
  expect(message.title).toBe('North Row: 8 rigs are not heard')
  expect(message.body).toContain('Heron (since Tue 06:10), Marten')
  expect(message.body).toContain('Teal (since Tue 06:10) and 2 more.')
})

test('when the last rig is heard again the message about the hangar says so and stays quiet', () => {
  const message = silenceMessage({
    hangar: { id: 'h1', name: 'North Row' },
    silent: [],
    heardAgain: ['Heron'],
    urgency: 'visit',
    id: 'x',
  })
  expect(message).toMatchObject({
    title: 'North Row: heard again',
    body: 'Heard again: Heron.',
    isNews: false,
    urgency: 'over',
  })
})
