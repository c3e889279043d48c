import { createServer, type Server } from 'node:http'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { fetchPublic, isPublicAddress } from '../../clients/local/outbound.ts'

let server: Server
let origin = ''
let asked = 0
beforeAll(async () => {
  server = createServer((req, res) => {
    asked += 1
    if (req.url === '/away') return res.writeHead(307, { location: '/' }).end()
    if (req.url === '/long') return res.end('x'.repeat(100_000))
    return res.writeHead(201, { location: '/message/1' }).end(`${req.method} ${String(req.headers['x-say'])}`)
  })
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  const address = server.address()
  origin = `http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}`
})
afterAll(() => new Promise<void>((done) => void (server.closeAllConnections(), server.close(() => done()))))

/** RFC 6890 and its updates: special-purpose addresses, at the edges of their ranges. */
test.each([
  '0.0.0.0',
  '10.0.0.1',
  '100.64.0.1',
  '100.127.255.255',
  '127.0.0.1',
  '127.255.255.255',
  '169.254.169.254',
  '172.16.0.1',
  '172.31.255.255',
  '192.0.2.1',
  '192.168.1.1',
  '198.18.0.1',
  '198.19.255.255',
  '224.0.0.1',
  '255.255.255.255',
  '::',
  '::1',
  '::ffff:127.0.0.1',
  '::ffff:8.8.8.8',
  'fc00::1',
  'fd12::1',
  'fe80::1',
  'ff02::1',
  '2001:db8::1',
  '2001::1',
  '2002:7f00:1::',
  '64:ff9b::7f00:1',
  'localhost',
  '',
])('%s is not public', (address) => expect(isPublicAddress(address)).toBe(false))

test.each([
  '8.8.8.8',
  '100.63.255.255',
  '100.128.0.1',
  '172.15.0.1',
  '172.32.0.1',
  '198.20.0.1',
  '2606:4700::1111',
])('%s is public', (address) => expect(isPublicAddress(address)).toBe(true))

const out = (url: string) => ({
  url,
  method: 'POST',
  headers: { 'x-say': 'hello' },
  body: new Uint8Array([1]),
})

test('an address of this machine or network is refused before anything is sent', async () => {
  const { port } = new URL(origin)
  for (const host of [
    '127.0.0.1',
    '[::1]',
    '[::ffff:127.0.0.1]',
    '0.0.0.0',
    '2130706433',
    '0x7f.1',
    '192.168.0.1',
  ]) {
    await expect(fetchPublic(out(`http://${host}:${port}/`)), host).rejects.toThrow('not a public address')
  }
  expect(asked).toBe(0)
})

test('a name that resolves to such an address is refused, alone or among others', async () => {
  const { port } = new URL(origin)
  await expect(fetchPublic(out(`http://localhost:${port}/`))).rejects.toThrow('not a public address')
  for (const addresses of [['127.0.0.1'], ['8.8.8.8', '127.0.0.1'], ['::1'], []]) {
    const resolve = (_: string, done: (error: null, found: { address: string; family: number }[]) => void) =>
      done(
        null,
        addresses.map((address) => ({ address, family: address.includes(':') ? 6 : 4 })),
      )
    await expect(fetchPublic(out(`http://push.example:${port}/`), { resolve })).rejects.toThrow(
      'not a public address',
    )
  }
  expect(asked).toBe(0)
})

test("the test's own origin is let through, as it is and no other", async () => {
  const answer = await fetchPublic(out(`${origin}/`), { testOrigin: origin })
  expect(answer.status).toBe(201)
  expect(Buffer.from(answer.body).toString()).toBe('POST hello')
  expect(answer.headers).toContainEqual(['location', '/message/1'])
  await expect(fetchPublic(out(`${origin}/`), { testOrigin: 'http://127.0.0.1:1' })).rejects.toThrow(
    'not a public',
  )
})

test('redirects are not followed, and a long answer is cut off', async () => {
  expect((await fetchPublic(out(`${origin}/away`), { testOrigin: origin })).status).toBe(307)
  await expect(fetchPublic(out(`${origin}/long`), { testOrigin: origin })).rejects.toThrow('too long')
})
