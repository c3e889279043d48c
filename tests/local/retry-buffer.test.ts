import { createServer, type Server } from 'node:http'
import { gunzipSync } from 'node:zlib'
import { afterEach, beforeEach, expect, test } from 'vitest'
import * as z from 'zod'
import { retryBuffer } from '../../clients/hub/retry-buffer.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'

type Script = { status: number; headers?: Record<string, string>; isCut?: boolean }

let server: Server
let script: Script[] = []
let got: number[][] = []
let origin = ''
const bodySchema = z.object({ readings: z.array(z.object({ at: z.string(), humidity: z.number() })) })

/** A service that does what the script says, then accepts. It counts what it has accepted. */
beforeEach(async () => {
  script = []
  got = []
  server = createServer(async (req, res) => {
    const chunks: Buffer[] = []
    for await (const chunk of req) if (chunk instanceof Buffer) chunks.push(chunk)
    const bytes = Buffer.concat(chunks)
    const text = (req.headers['content-encoding'] === 'gzip' ? gunzipSync(bytes) : bytes).toString()
    const { readings } = bodySchema.parse(JSON.parse(text))
    const step = script.shift() ?? { status: 200 }
    if (step.status === 200) got.push(readings.map((each) => each.humidity))
    if (step.isCut) return req.socket.destroy()
    res.writeHead(step.status, step.headers)
    res.end(
      JSON.stringify({
        readAs: 'native',
        received: readings.length,
        stored: readings.length,
        repeated: 0,
        setAsideTotal: 0,
        setAside: [],
        pump: null,
      }),
    )
    return undefined
  })
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done))
  const address = server.address()
  origin = `http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}`
})
afterEach(() => new Promise<void>((done) => void (server.closeAllConnections(), server.close(() => done()))))

const reading = (i: number): Reading => ({
  atS: 1_800_000_000 + 60 * i,
  place: 'return',
  humidityPct: i % 100,
  tempC: null,
  pumpOn: null,
  powerW: null,
})
const buffer = (isZipped = false) =>
  retryBuffer({ origin, key: 'k' }, { kind: 'native', rig: null, isZipped })

test.each([
  ['a 503', { status: 503 }],
  ['a 429', { status: 429 }],
  ['a 500', { status: 500 }],
  ['an answer that never came', { status: 200, isCut: true }],
])('after %s the very same readings are sent again', async (_, step) => {
  script = [step]
  const hub = buffer()
  hub.add([reading(1), reading(2)])
  expect(await hub.flush()).toBe(false)
  expect(hub.held()).toBe(2)
  expect(hub.waitMs()).toBeGreaterThan(0)
  expect(await hub.flush()).toBe(true)
  expect(got.at(-1)).toEqual([1, 2])
  expect(hub.tally).toMatchObject({ acknowledged: 2, retries: 1, lost: 0, refused: 0 })
  expect(hub.waitMs()).toBe(0)
})

test('the wait doubles, and Retry-After is honoured up to a minute', async () => {
  script = [{ status: 503 }, { status: 503 }, { status: 503, headers: { 'retry-after': '7' } }]
  script.push({ status: 503, headers: { 'retry-after': '86400' } })
  const hub = buffer()
  hub.add([reading(1)])
  const waits: number[] = []
  for (let i = 0; i < 4; i++) {
    await hub.flush()
    waits.push(hub.waitMs())
  }
  expect(waits).toEqual([500, 1000, 7000, 60_000])
})

test('what is refused for good is counted and makes way for the rest', async () => {
  script = [{ status: 401 }]
  const hub = buffer(true)
  hub.add([reading(1)])
  expect(await hub.flush()).toBe(true)
  hub.add([reading(2)])
  expect(await hub.flush()).toBe(true)
  expect(got).toEqual([[2]])
  expect(hub.tally).toMatchObject({ acknowledged: 1, refused: 1 })
  expect(hub.tally.lastProblem).toMatch(/^401/)
})

test('a long outage drops the oldest, counts them, and sends the rest in posts the service takes', async () => {
  const hub = buffer()
  hub.add(Array.from({ length: 20_003 }, (_, i) => reading(i)))
  expect(hub.held()).toBe(20_000)
  expect(await hub.flush()).toBe(true)
  expect(got.map((post) => post.length)).toEqual([5000, 5000, 5000, 5000])
  expect(got[0]?.[0]).toBe(3)
  expect(hub.tally).toMatchObject({ acknowledged: 20_000, lost: 3 })
})

test('what is too long for one post goes in shorter ones from then on, and nothing is refused', async () => {
  script = [{ status: 413 }, { status: 413 }]
  const hub = buffer()
  hub.add(Array.from({ length: 5120 }, (_, i) => reading(i)))
  expect(await hub.flush()).toBe(true)
  expect(got.map((post) => post.length)).toEqual([...Array.from({ length: 102 }, () => 50), 20])
  expect(hub.tally).toMatchObject({ acknowledged: 5120, refused: 0 })
})
