import { beforeAll, describe, expect, test } from 'vitest'
import { makeWorld, type Credential, type World } from '../people/world.ts'

let world: World
let keeper: Credential
let source: string
let hub: Credential
const RECIPE = {
  each: '/data',
  at: { from: '/ts', unit: 's' },
  humidity: { from: '/hum', unit: '%' },
  temperature: { from: '/tmp', unit: 'degF' },
  pump: { from: '/sw', on: ['on', 1, true] },
}
const AT = 1_789_000_000
const POST = {
  data: [
    { ts: AT, hum: 15.5, tmp: 68, sw: 'on' },
    { ts: AT + 300, hum: 'unavailable' },
  ],
}

beforeAll(async () => {
  world = await makeWorld()
  const hangar = await world.hangar('Recipes')
  keeper = (await world.join(hangar, 'keeper', 'Mira')).who
  const settings = { band: { start: 15, stop: 6 } }
  await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, { name: 'One', slug: 'one', settings })
  const made = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: ['one'] })
  source = made.body.id
  hub = { bearer: (await world.call(keeper, `POST /v1/sources/${source}/keys`)).body.key }
})

describe('a recipe', () => {
  test('is tried on a post that could not be read, then saved, and reads the next one', async () => {
    expect((await world.call(hub, 'POST /v1/readings', POST)).status).toBe(422)
    const [post] = (await world.call(keeper, `GET /v1/sources/${source}/posts`)).body.items
    const body = { recipe: RECIPE, post: post.id }
    const tried = await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, body)
    expect(tried.body).toMatchObject({
      received: 2,
      stored: 1,
      setAsideTotal: 1,
      setAside: [{ index: 1, pointer: '/hum', reason: 'unavailable' }],
      pump: 'run',
      readings: [
        {
          rig: 'one',
          place: 'return',
          at: '2026-09-10T00:26:40Z',
          humidity: 15.5,
          temperature: 20,
          pump: true,
        },
      ],
    })
    const saved = await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe: RECIPE })
    expect(saved.body).toMatchObject({ recipe: RECIPE, recipeVersion: 1 })
    const posted = await world.call(hub, 'POST /v1/readings', POST)
    expect(posted.body).toMatchObject({ stored: 1, setAsideTotal: 1 })
  })

  test('is proposed from the kept post, with its reasons, and what is proposed reads it', async () => {
    const [post] = (await world.call(keeper, `GET /v1/sources/${source}/posts`)).body.items
    const path = `POST /v1/sources/${source}/recipe/propose`
    const proposed = await world.call(keeper, path, { post: post.id })
    expect(proposed.status).toBe(200)
    expect(proposed.body).toMatchObject({
      recipe: {
        each: '/data',
        at: { from: '/ts', unit: 's' },
        humidity: { from: '/hum', unit: '%' },
        temperature: { from: '/tmp', unit: 'degF' },
        pump: { from: '/sw' },
        place: 'return',
      },
      why: null,
    })
    expect(proposed.body.reasons).toContainEqual({
      field: 'humidity',
      pointer: '/hum',
      reason: '"hum" is named like humidity, and 15.5 lies between 0 and 100 %',
    })
    const { recipe } = proposed.body
    const tried = await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, { recipe, post: post.id })
    expect(tried.body.readings[0]).toMatchObject({ humidity: 15.5, temperature: 20, pump: true })

    const fromBody = await world.call(keeper, path, { body: '{"volts": 3}', contentType: 'application/json' })
    expect(fromBody.body).toMatchObject({ recipe: null, reasons: [], notes: [] })
    expect(fromBody.body.why).toContain('no humidity and no temperature')
    expect((await world.call(keeper, path, {})).status).toBe(422)
    expect((await world.call(keeper, path, { post: 'aanosuchpost' })).status).toBe(404)
  })

  test('mended, lets the kept post in: once, whoever asks and however often', async () => {
    const { items } = (await world.call(keeper, `GET /v1/sources/${source}/posts`)).body
    const unread = items.find((post: { readAs: string | null }) => post.readAs === null)
    const path = `POST /v1/sources/${source}/posts/${unread.id}/replay`
    const fixed = {
      ...RECIPE,
      humidity: { from: '/hum', unit: '%' },
      temperature: { from: '/tmp', unit: 'degF' },
    }
    await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe: fixed })
    const answers = await Promise.all([1, 2, 3].map(() => world.call(keeper, path)))
    // One value is still a word: what could be read is stored already, and the post stays open for a better recipe.
    for (const answer of answers)
      expect(answer.body).toMatchObject({ received: 2, stored: 0, repeated: 1, setAsideTotal: 1, pump: null })

    const later = { data: [{ ts: AT + 900, hum: 9 }] }
    await world.call(keeper, `PUT /v1/sources/${source}/recipe`, {
      recipe: { humidity: { from: '/h', unit: '%' } },
    })
    expect((await world.call(hub, 'POST /v1/readings', later)).status).toBe(422)
    const all = (await world.call(keeper, `GET /v1/sources/${source}/posts`)).body.items
    const kept = all.find((post: { body: string }) => post.body.includes(String(AT + 900)))
    const again = `POST /v1/sources/${source}/posts/${kept.id}/replay`
    expect((await world.call(keeper, again)).status).toBe(422)
    await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe: RECIPE })
    const both = await Promise.all([world.call(keeper, again), world.call(keeper, again)])
    const good = both.filter(({ status }) => status === 200)
    expect(good.map(({ body }) => body.stored)).toEqual([1])
    expect(both.filter(({ status }) => status === 409)).toHaveLength(1)
    const shown = (await world.call(keeper, `GET /v1/sources/${source}/posts`)).body.items
    expect(shown.find((post: { id: string }) => post.id === kept.id).replayedAt).toMatch(/Z$/)
    expect((await world.call(keeper, again)).body).toMatchObject({ status: 409, type: '/problems/conflict' })
  })

  test('a replay that is refused for what is there already leaves the post open, and the post says so', async () => {
    const first = { data: [{ ts: AT + 1800, hum: 9 }] }
    const other = {
      data: [
        { ts: AT + 1800, hum: 12 },
        { ts: AT + 2100, hum: 11 },
      ],
    }
    await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe: RECIPE })
    expect((await world.call(hub, 'POST /v1/readings', first)).body.stored).toBe(1)
    const refused = await world.call(hub, 'POST /v1/readings', other)
    expect(refused.body).toMatchObject({ stored: 1, setAsideTotal: 1, setAside: [{ reason: 'conflict' }] })
    const list = `GET /v1/sources/${source}/posts`
    const keptNow = async () =>
      (await world.call(keeper, list)).body.items.find((post: { body: string }) =>
        post.body.includes(String(AT + 2100)),
      )
    const { id } = await keptNow()
    for (const _ of [1, 2]) {
      const again = await world.call(keeper, `POST /v1/sources/${source}/posts/${id}/replay`)
      expect(again.body).toMatchObject({ stored: 0, repeated: 1, setAsideTotal: 1 })
      expect(await keptNow()).toMatchObject({
        id,
        replayedAt: null,
        result: { received: 2, setAsideTotal: 1, setAside: [{ index: 0, reason: 'conflict' }] },
      })
    }
  })

  test('mended, finds the devices of a kept post under whatever name the hub gives them', async () => {
    const body = { data: [{ key: 'dev7', value: 9.5, ts: AT + 3000 }] }
    await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe: RECIPE })
    expect((await world.call(hub, 'POST /v1/readings', body)).status).toBe(422)
    const recipe = {
      each: '/data',
      at: { from: '/ts', unit: 's' },
      humidity: { from: '/value', unit: '%' },
      rig: { from: '/key', match: { dev7: 'one' } },
    }
    await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe })
    const { items } = (await world.call(keeper, `GET /v1/sources/${source}/posts`)).body
    const { id } = items.find((post: { body: string }) => post.body.includes('dev7'))
    const again = await world.call(keeper, `POST /v1/sources/${source}/posts/${id}/replay`)
    expect(again.body).toMatchObject({ stored: 1, setAsideTotal: 0 })
  })

  test('may be tried on a body of any kind given at hand, natively too', async () => {
    const native = { recipe: null, body: 'at,humidity\n2026-09-01T06:00:00Z,9', contentType: 'text/csv' }
    const tried = await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, native)
    expect(tried.body).toMatchObject({ received: 1, readings: [{ humidity: 9, at: '2026-09-01T06:00:00Z' }] })
    // As the hub's post is read: an empty content type is none.
    const typeless = { ...native, contentType: '' }
    const same = await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, typeless)
    expect(same.body).toMatchObject({ readAs: 'CSV, though it has no content type', received: 1 })
    const unreadable = { recipe: RECIPE, body: '{"other": 1}', contentType: 'application/json' }
    expect((await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, unreadable)).status).toBe(422)
    const both = { recipe: null, body: '{}', post: 'x' }
    expect((await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, both)).status).toBe(422)
    const lost = { recipe: null, post: 'nobody' }
    expect((await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, lost)).status).toBe(404)
  })

  test.each([
    [{ humidity: { from: 'no-slash', unit: '%' } }, '/recipe/humidity/from'],
    [{ humidity: { from: '/h', unit: 'degC' } }, '/recipe/humidity/unit'],
    [{ humidity: { from: '/h', unit: '%' }, colour: 'red' }, '/recipe/colour'],
    [{ humidity: { from: '/h', unit: '%' }, zone: 'Mars/Base' }, '/recipe/zone'],
  ])('%o is refused at its place, wherever it is given', async (recipe, pointer) => {
    const given = await world.call(keeper, `PUT /v1/sources/${source}/recipe`, { recipe })
    const tried = await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, { recipe, body: '{}' })
    for (const answer of [given, tried]) {
      expect(answer.status).toBe(422)
      expect(answer.body.errors.map((error: { pointer: string }) => error.pointer)).toContain(pointer)
    }
  })
})

const good = (minute: number) => ({ at: AT + minute * 60, humidity: 9 })

describe('good posts', () => {
  const kept = async () => {
    const { items } = (await world.call(keeper, `GET /v1/sources/${watched}/posts`)).body
    return items.filter((post: { kind: string }) => post.kind === 'good').length
  }
  let watched: string
  let their: Credential

  beforeAll(async () => {
    const hangar = await world.hangar('Watched')
    keeper = (await world.join(hangar, 'keeper', 'Nell')).who
    const settings = { band: { start: 15, stop: 6 } }
    await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, { name: 'Two', slug: 'two', settings })
    const made = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, {
      name: 'Hub',
      rigs: ['two'],
    })
    watched = made.body.id
    their = { bearer: (await world.call(keeper, `POST /v1/sources/${watched}/keys`)).body.key }
  })

  test('one an hour is kept while nobody looks; with the page open the very next one, and each after it', async () => {
    for (const minute of [1, 2, 3]) await world.call(their, 'POST /v1/readings', good(minute))
    // The source is remembered by now. Asking opens the page.
    expect(await kept()).toBe(1)
    await world.call(their, 'POST /v1/readings', good(4))
    expect(await kept()).toBe(2)
    await world.call(their, 'POST /v1/readings', good(5))
    expect(await kept()).toBe(3)
  })

  test('once the page is closed it is one an hour again', async () => {
    world.clock.nowS += 600
    for (const minute of [6, 7]) await world.call(their, 'POST /v1/readings', good(minute))
    expect(await kept()).toBe(3)
    world.clock.nowS += 3600
    for (const minute of [8, 9]) await world.call(their, 'POST /v1/readings', good(minute))
    expect(await kept()).toBe(4)
  })
})
