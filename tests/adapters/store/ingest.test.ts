import { beforeAll, expect, test } from 'vitest'
import { at, makeStoreWorld, START_S } from './store-world.ts'
import type { StoreWorld } from './store-world.ts'

let world: StoreWorld
beforeAll(async () => {
  world = await makeStoreWorld()
})

/** Each test gets instants of its own. */
let nextS = START_S - 86_400
function instant(): string {
  nextS += 300
  return at(nextS)
}

async function rowsAt(time: string): Promise<unknown[]> {
  const found = await world.raw
    .prepare(
      'SELECT place, humidity_centi_pct h, temp_centi_c t, pump_on p, power_deci_w w FROM reading WHERE at_s = ?1 ORDER BY place',
    )
    .bind(Date.parse(time) / 1000)
    .all()
  return found.results
}

test('one reading is stored, rounded, and answered', async () => {
  const time = instant()
  const reply = await world.post({ at: time, humidity: 11.404, temperature: 18.249, pump: true, power: 4.06 })
  expect(reply).toMatchObject({
    status: 200,
    body: {
      readAs: 'native JSON',
      received: 1,
      stored: 1,
      repeated: 0,
      setAsideTotal: 0,
      setAside: [],
      pump: 'run',
    },
  })
  expect(await rowsAt(time)).toEqual([{ place: 0, h: 1140, t: 1825, p: 1, w: 41 }])
})

test('the same again is repeated and changes nothing', async () => {
  const record = { at: instant(), humidity: 11.4 }
  await world.post(record)
  world.take()
  expect((await world.post(record)).body).toMatchObject({
    received: 1,
    stored: 0,
    repeated: 1,
    setAsideTotal: 0,
  })
  expect(world.take().written).toBe(0)
})

test('what was missing may be filled later, once', async () => {
  const time = instant()
  expect((await world.post({ at: time, temperature: 18.2 })).body.stored).toBe(1)
  expect((await world.post({ at: time, pump: 'off', humidity: '7.5' })).body).toMatchObject({
    stored: 1,
    pump: 'rest',
  })
  expect((await world.post({ at: time, pump: 0, humidity: 7.5, temperature: 18.2 })).body).toMatchObject({
    repeated: 1,
  })
  expect(await rowsAt(time)).toEqual([{ place: 0, h: 750, t: 1820, p: 0, w: null }])
})

test('a different value: the first stays, the second is set aside as conflict, with all that came with it', async () => {
  const time = instant()
  await world.post({ at: time, humidity: 11.4 })
  const reply = await world.post([
    { at: time, humidity: 12, temperature: 20 },
    { at: instant(), humidity: 9 },
  ])
  expect(reply.body).toMatchObject({
    received: 2,
    stored: 1,
    setAsideTotal: 1,
    setAside: [{ index: 0, pointer: '', reason: 'conflict' }],
  })
  expect(await rowsAt(time)).toEqual([{ place: 0, h: 1140, t: null, p: null, w: null }])
})

test('conflicts, repeats and fills within one post are told apart in its order', async () => {
  const time = instant()
  const reply = await world.post({
    readings: [
      { at: time, temperature: 18 },
      { at: time, humidity: 9 },
      { at: time, humidity: 10, pump: true },
      { at: time, humidity: 9, temperature: 18 },
    ],
  })
  expect(reply.body).toMatchObject({ received: 4, stored: 2, repeated: 1, setAsideTotal: 1 })
  expect(reply.body.setAside[0]).toMatchObject({ index: 2, reason: 'conflict' })
  expect(await rowsAt(time)).toEqual([{ place: 0, h: 900, t: 1800, p: null, w: null }])
})

test.each([
  [{ humidity: 'unavailable' }, '/humidity', 'unavailable'],
  [{ humidity: 'damp' }, '/humidity', 'not_a_number'],
  [{ humidity: { value: 9 } }, '/humidity', 'not_a_number'],
  [{ humidity: true }, '/humidity', 'not_a_number'],
  [{ humidity: -0.5 }, '/humidity', 'humidity_range'],
  [{ humidity: 105.1 }, '/humidity', 'humidity_range'],
  [{ temperature: 121 }, '/temperature', 'temperature_range'],
  [{ temperature: -61 }, '/temperature', 'temperature_range'],
  [{ temperature: '1e999' }, '/temperature', 'not_a_number'],
  [{ power: -1 }, '/power', 'power_range'],
  [{ pump: 'maybe' }, '/pump', 'pump_unreadable'],
  [{ humidity: 9, place: 'cowling' }, '/place', 'unknown_place'],
  [{ humidity: 9, rig: 'somebody-elses' }, '/rig', 'unknown_rig'],
  [{ humidity: 9, at: '2026-03-01T06:00:00' }, '/at', 'time_no_zone'],
  [{ humidity: 9, at: 'yesterday' }, '/at', 'time_unreadable'],
  [{ humidity: 9, at: '2026-02-30T06:00:00Z' }, '/at', 'time_unreadable'],
  [{ humidity: 9, at: 0 }, '/at', 'time_before_2000'],
  [{ humidity: 9, at: START_S + 301 }, '/at', 'time_ahead'],
  [{ at: START_S }, '', 'no_value'],
])('%j is set aside at %s as %s', async (record, pointer, reason) => {
  const reply = await world.post(record)
  expect(reply).toMatchObject({ status: 200, body: { received: 1, stored: 0, setAsideTotal: 1 } })
  expect(reply.body.setAside[0]).toMatchObject({ index: 0, pointer, reason })
})

test('a sensor that overshoots is kept as 100 and said so', async () => {
  const time = instant()
  const reply = await world.post({ at: time, humidity: 103.2 })
  expect(reply.body).toMatchObject({
    stored: 1,
    notes: [{ index: 0, pointer: '/humidity', reason: 'over_100_kept_as_100' }],
  })
  expect(await rowsAt(time)).toEqual([{ place: 0, h: 10_000, t: null, p: null, w: null }])
})

test('a hub clock that is an hour ahead is named, with its correction', async () => {
  const reply = await world.post({ at: START_S + 3607, humidity: 9 })
  expect(reply.body.setAside[0].detail).toBe(
    'hub clock 1 h ahead: "clockOffsetS": -3600 in the recipe corrects it',
  )
})

test('times: Unix seconds, milliseconds, text, and none', async () => {
  const seconds = Date.parse(instant()) / 1000
  expect((await world.post({ at: seconds, humidity: 9 })).body.stored).toBe(1)
  expect((await world.post({ at: seconds * 1000 + 999, humidity: 9 })).body.repeated).toBe(1)
  expect((await world.post({ at: String(seconds), humidity: 9 })).body.repeated).toBe(1)
  expect((await world.post({ at: `${at(seconds).slice(0, -1)}.75+00:00`, humidity: 9 })).body.repeated).toBe(
    1,
  )
  const reply = await world.post([{ humidity: 8 }, { humidity: 8.5 }, { humidity: 50, place: 'ambient' }])
  expect(reply.body).toMatchObject({ stored: 2, setAside: [{ index: 1, reason: 'time_missing' }] })
})

async function advice(records: unknown): Promise<unknown> {
  return (await world.post(records)).body.pump
}

test('pump: what the band asks for, from this post alone', async () => {
  expect(await advice({ at: instant(), humidity: 15 })).toBe('run')
  expect(await advice({ at: instant(), humidity: 6 })).toBe('rest')
  expect(await advice({ at: instant(), humidity: 10 })).toBeNull()
  expect(await advice({ at: instant(), humidity: 10, pump: false })).toBe('rest')
  expect(await advice({ at: instant(), humidity: 90, place: 'ambient' })).toBeNull()
  const [earlier, later] = [instant(), instant()]
  expect(
    await advice([
      { at: later, humidity: 5 },
      { at: earlier, humidity: 30 },
    ]),
  ).toBe('rest')
})

test('problems have a stable type and the form of RFC 9457', async () => {
  const json = { 'content-type': 'application/json' }
  const bearer = { authorization: `Bearer ${world.key}` }
  const tooMany = JSON.stringify(Array.from({ length: 5001 }, () => ({ humidity: 9 })))
  const cases: [number, string, RequestInit][] = [
    [401, '/problems/unauthorized', { headers: json, body: '{}' }],
    [401, '/problems/unauthorized', { headers: { ...json, authorization: 'Bearer junk' }, body: '{}' }],
    [
      401,
      '/problems/unauthorized',
      { headers: { ...json, authorization: `Bearer ${world.key.slice(0, -1)}` }, body: '{}' },
    ],
    [400, '/problems/bad-request', { headers: { ...json, ...bearer }, body: '{"humidity": 9' }],
    [
      400,
      '/problems/bad-request',
      { headers: { ...json, ...bearer }, body: new Uint8Array([0x7b, 0xff, 0x7d]) },
    ],
    [
      400,
      '/problems/bad-request',
      { headers: { ...json, ...bearer, 'content-encoding': 'gzip' }, body: 'not gzip' },
    ],
    [413, '/problems/too-large', { headers: { ...json, ...bearer }, body: `[${' '.repeat(1_048_577)}]` }],
    [413, '/problems/too-large', { headers: { ...json, ...bearer }, body: tooMany }],
    [
      415,
      '/problems/unsupported-media',
      { headers: { ...json, ...bearer, 'content-encoding': 'br' }, body: '{}' },
    ],
    [422, '/problems/no-record', { headers: { ...json, ...bearer }, body: '{}' }],
    [422, '/problems/no-record', { headers: { ...json, ...bearer }, body: '[]' }],
    [422, '/problems/no-record', { headers: { ...json, ...bearer }, body: '"9"' }],
  ]
  for (const [status, type, init] of cases) {
    const reply = await world.send(init)
    expect(reply).toMatchObject({ status, body: { type, status, title: expect.any(String) } })
    expect(reply.headers.get('content-type')).toBe('application/problem+json')
  }
})

test('a key may come as the password of Basic; in the query only where the source allows it', async () => {
  const record = JSON.stringify({ at: instant(), humidity: 9 })
  const basic = `Basic ${btoa(`hub:${world.key}`)}`
  expect((await world.send({ headers: { authorization: basic }, body: record })).status).toBe(200)
  const path = `/v1/readings?key=${world.key}`
  expect((await world.send({ body: record }, path)).status).toBe(401)
  await world.shard.sources.change(world.source, { isKeyInQuery: true })
  world.clock.nowS += 61
  expect((await world.send({ body: record }, path)).status).toBe(200)
})

test('a revoked key stores nothing from that moment, though the isolate still remembers it', async () => {
  const other = await world.shard.sources.addKey(world.source, world.clock.nowS)
  if ('reason' in other) throw new Error(other.reason)
  const headers = { authorization: `Bearer ${other.key}` }
  const send = (time: string) => world.send({ headers, body: JSON.stringify({ at: time, humidity: 9 }) })
  expect((await send(instant())).status).toBe(200)
  expect(await world.shard.sources.addKey(world.source, world.clock.nowS)).toEqual({ reason: 'two_live' })
  expect(await world.shard.sources.revokeKey(world.source, other.id, world.clock.nowS)).toBe(true)
  const time = instant()
  expect((await send(time)).status).toBe(401)
  expect(await rowsAt(time)).toEqual([])
})

async function zip(text: string): Promise<ArrayBuffer> {
  return new Response(new Blob([text]).stream().pipeThrough(new CompressionStream('gzip'))).arrayBuffer()
}

test('gzip is read, said or unsaid, and a bomb is cut off', async () => {
  const bearer = { authorization: `Bearer ${world.key}` }
  const small = await zip(JSON.stringify({ at: instant(), humidity: 9 }))
  expect(
    (await world.send({ headers: { ...bearer, 'content-encoding': 'gzip' }, body: small })).body.stored,
  ).toBe(1)
  expect((await world.send({ headers: bearer, body: small })).body.repeated).toBe(1)
  const bomb = await zip('['.padEnd(50_000_000, ' '))
  expect(bomb.byteLength).toBeLessThan(100_000)
  expect((await world.send({ headers: { ...bearer, 'content-encoding': 'gzip' }, body: bomb })).status).toBe(
    413,
  )
})
