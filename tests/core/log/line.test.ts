import { describe, expect, test } from 'vitest'
import { logLine, withoutPersonal } from '../../../src/adapters/log/line.ts'

const atMs = Date.parse('2026-11-25T09:00:00Z')

test('a line is JSON with its time first', () => {
  expect(logLine({ event: 'messages', sent: 3 }, atMs)).toBe(
    '{"at":"2026-11-25T09:00:00.000Z","event":"messages","sent":3}',
  )
})

test('a field that nobody allowed does not leave', () => {
  const line = { event: 'failed', person: 'Mira', endpoint: 'https://push.example/abc', request: 'r1' }
  expect(JSON.parse(logLine(line, atMs))).toEqual({
    at: '2026-11-25T09:00:00.000Z',
    event: 'failed',
    request: 'r1',
  })
})

describe('what an error quotes', () => {
  test.each([
    ['a body', `Unexpected token 'h', "{"hum": hello" is not valid JSON`, 'hello'],
    ['a name in quotation marks', 'no such rig: "Mira\'s Heron"', 'Heron'],
    ['an address of mail', 'contact mira@meadow.example refused', 'mira'],
    ['an endpoint', 'fetch failed: https://fcm.googleapis.com/fcm/send/cXk:APA91b', 'APA91b'],
    ['a key', 'bead_5f2fsk39dkfj39fjs93kfj39fj39fj was revoked', '5f2fsk39'],
    ['a hash', 'UNIQUE failed for 9f86d081884c7d659a2feaa0c55ad015a3bf4f1b', '9f86d081'],
  ])('%s is not logged', (_, text, secret) => {
    expect(withoutPersonal(text)).not.toContain(secret)
    expect(logLine({ event: 'failed', message: text }, atMs)).not.toContain(secret)
  })

  test('and what helps stays', () => {
    expect(withoutPersonal('D1_ERROR: no such column: due_at_s at offset 12')).toBe(
      'D1_ERROR: no such column: due_at_s at offset 12',
    )
  })
})

test('a text has an end', () => {
  expect(logLine({ event: 'x', message: 'ab '.repeat(1000) }, atMs).length).toBeLessThan(400)
})
