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

  test('may be tried on a body of any kind given at hand, natively too', async () => {
    const native = { recipe: null, body: 'at,humidity\n2026-09-01T06:00:00Z,9', contentType: 'text/csv' }
    const tried = await world.call(keeper, `POST /v1/sources/${source}/recipe/try`, native)
    expect(tried.body).toMatchObject({ received: 1, readings: [{ humidity: 9, at: '2026-09-01T06:00:00Z' }] })
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
