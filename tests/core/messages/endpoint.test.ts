import { describe, expect, test } from 'vitest'
import {
  endpointProblem,
  isPublicName,
  readAddedHosts,
  readTestOrigin,
} from '../../../src/flows/push-endpoint.ts'
import { isRealContact } from '../../../src/adapters/push/vapid.ts'
import { retryAfterS } from '../../../src/adapters/push/retry-after.ts'

const none = { addedHosts: [], testOrigin: null }

describe('endpoints', () => {
  test.each([
    'https://fcm.googleapis.com/fcm/send/abc:def',
    'https://updates.push.services.mozilla.com/wpush/v2/abc',
    'https://web.push.apple.com/abc',
    'https://wns2-by3p.notify.windows.com/w/?token=abc',
  ])('%s is a push service of a browser', (endpoint) => {
    expect(endpointProblem(endpoint, none)).toBeNull()
  })

  test.each([
    ['plain HTTP', 'http://fcm.googleapis.com/fcm/send/a', 'not_https'],
    ['no URL', 'fcm.googleapis.com', 'not_a_url'],
    ['a name that resolves to loopback', 'https://localhost/a', 'unknown_service'],
    ['a subdomain of it', 'https://push.localhost/a', 'unknown_service'],
    ['a public name that points at loopback', 'https://loop.back.example/a', 'unknown_service'],
    ['loopback by number', 'https://127.0.0.1/a', 'unknown_service'],
    ['loopback by another number', 'https://2130706433/a', 'unknown_service'],
    ['loopback in hexadecimal', 'https://0x7f.1/a', 'unknown_service'],
    ['loopback in version 6', 'https://[::1]/a', 'unknown_service'],
    ['loopback mapped', 'https://[::ffff:127.0.0.1]/a', 'unknown_service'],
    ['the metadata address', 'https://169.254.169.254/a', 'unknown_service'],
    [
      'a service as the beginning of another name',
      'https://fcm.googleapis.com.evil.example/a',
      'unknown_service',
    ],
    ['a name that merely ends alike', 'https://notfcm.googleapis.com/a', 'unknown_service'],
    ['a service as the user', 'https://fcm.googleapis.com@evil.example/a', 'has_credentials'],
    ['a service in the path', 'https://evil.example/fcm.googleapis.com', 'unknown_service'],
    ['another port', 'https://fcm.googleapis.com:8443/a', 'has_port'],
    ['a trailing dot', 'https://fcm.googleapis.com./a', 'unknown_service'],
    ['a backslash', 'https://evil.example\\@fcm.googleapis.com/a', 'unknown_service'],
    ['too long', `https://fcm.googleapis.com/${'a'.repeat(1100)}`, 'too_long'],
    ['a script', 'javascript:alert(1)', 'not_https'],
  ])('%s is refused', (_, endpoint, reason) => {
    expect(endpointProblem(endpoint, none)).toMatchObject({ reason })
  })

  test('upper case is the same name', () => {
    expect(endpointProblem('https://FCM.GoogleAPIs.com/a', none)).toBeNull()
  })

  test('the host may add names, but none that a resolver may take for this machine', () => {
    const added = readAddedHosts(
      'push.example.org, LOCALHOST,127.0.0.1, ::1 ,printer.local, com,svc.internal',
    )
    expect(added.hosts).toEqual(['push.example.org'])
    expect(added.refused).toEqual(['localhost', '127.0.0.1', '::1', 'printer.local', 'com', 'svc.internal'])
    const rules = { addedHosts: added.hosts, testOrigin: null }
    expect(endpointProblem('https://a.push.example.org/x', rules)).toBeNull()
    expect(endpointProblem('https://example.org/x', rules)).toMatchObject({ reason: 'unknown_service' })
  })

  test('rules that were not read through the list refuse local names too', () => {
    expect(
      endpointProblem('https://localhost/x', { addedHosts: ['localhost'], testOrigin: null }),
    ).toMatchObject({
      reason: 'unknown_service',
    })
    expect(isPublicName('127.0.0.1')).toBe(false)
  })

  test('only loopback by address may stand in for a push service, and only that very origin', () => {
    expect(readTestOrigin('http://127.0.0.1:9000')).toBe('http://127.0.0.1:9000')
    expect(readTestOrigin('http://10.0.0.1:9000')).toBeNull()
    expect(readTestOrigin('https://push.example.org')).toBeNull()
    expect(readTestOrigin(undefined)).toBeNull()
    const rules = { addedHosts: [], testOrigin: 'http://127.0.0.1:9000' }
    expect(endpointProblem('http://127.0.0.1:9000/push/1', rules)).toBeNull()
    expect(endpointProblem('http://127.0.0.1:9001/push/1', rules)).toMatchObject({ reason: 'not_https' })
  })
})

test.each([
  ['mailto:host@airfield.zz', true],
  ['https://airfield.zz/contact', true],
  ['mailto:host@localhost', false],
  ['https://localhost', false],
  ['mailto:host@127.0.0.1', false],
  ['mailto:me@example.com', false],
  ['mailto:me@dry.example', false],
  ['http://airfield.zz', false],
  ['host@airfield.zz', false],
  ['', false],
])('contact "%s" is real: %s', (contact, isReal) => {
  expect(isRealContact(contact)).toBe(isReal)
})

test.each([
  ['seconds', '120', 120],
  ['IMF date', 'Wed, 25 Nov 2026 09:02:00 GMT', 120],
  ['RFC 850 date', 'Wednesday, 25-Nov-26 09:02:00 GMT', 120],
  ['asctime date', 'Wed Nov 25 09:02:00 2026', 120],
  ['a date gone by', 'Wed, 25 Nov 2026 08:00:00 GMT', 0],
  ['nothing', null, null],
  ['empty', '', null],
  ['words', 'soon', null],
  ['a negative number', '-5', null],
  ['a year alone', '2026', 2026],
  ['more seconds than nine digits say', '31536000000', 1e9],
])('Retry-After: %s (RFC 9110 section 10.2.3)', (_, header, seconds) => {
  expect(retryAfterS(header, Date.parse('2026-11-25T09:00:00Z'))).toBe(seconds)
})
