import { beforeAll, describe, expect, test } from 'vitest'
import { SETTINGS_MAX_BYTES, SETTINGS_PER_RIG_MAX, SOURCE_RIGS_MAX } from '../../../src/core/limits.ts'
import { HOST, makeWorld, type Credential, type World } from '../people/world.ts'

let world: World
let hangar: string
let keeper: Credential
beforeAll(async () => {
  world = await makeWorld()
  hangar = await world.hangar('Sparrow Meadow')
  keeper = (await world.join(hangar, 'keeper', 'Mira')).who
})

const dayOf = (day: number) => new Date(Date.UTC(2026, 0, 1 + day)).toISOString()
const BAND = { band: { start: 15, stop: 6 } }
const makeRig = async (slug: string) =>
  (await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, { name: slug, slug, settings: BAND })).body

describe('a rig', () => {
  test('goes from nothing to a stored reading with four calls', async () => {
    const rig = await makeRig('first')
    const source = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, {
      name: 'Hub',
      rigs: ['first'],
    })
    const key = await world.call(keeper, `POST /v1/sources/${source.body.id}/keys`)
    expect(key.status).toBe(201)
    const posted = await world.call({ bearer: key.body.key }, 'POST /v1/readings', {
      at: '2026-09-21T06:00:00Z',
      humidity: 11.4,
      temperature: 18.2,
      pump: true,
    })
    expect(posted.body).toMatchObject({ stored: 1, setAsideTotal: 0, pump: 'run' })
    const now = await world.call(keeper, `GET /v1/rigs/${rig.id}/now`)
    expect(now.body).toMatchObject({
      state: 'unheard',
      heardAt: '2026-09-21T06:00:00Z',
      readings: [{ place: 'return', humidity: 11.4, temperature: 18.2, pump: true, power: null }],
    })
    expect(now.body.sentence).toMatch(/^The first readings are here, the last 11.4 % at /)
    const trace = await world.call(
      keeper,
      `GET /v1/rigs/${rig.id}/trace?from=2026-09-21T00:00:00Z&to=2026-09-22T00:00:00Z`,
    )
    expect(trace.body.series[0].points).toEqual([
      expect.objectContaining({ at: '2026-09-21T06:00:00Z', humidity: 11.4, temperature: 18.2 }),
    ])
  })

  test('keeps its settings dated: a change holds from its time on, the old ones stay', async () => {
    const rig = await makeRig('dated')
    const changed = await world.call(keeper, `PATCH /v1/rigs/${rig.id}`, {
      name: 'Dated anew',
      from: '2026-09-01T08:00:00+02:00',
      settings: { band: { start: 16, stop: 6 }, beadMassG: 2000 },
    })
    expect(changed.body.name).toBe('Dated anew')
    expect(changed.body.history).toContainEqual({
      from: '2026-09-01T06:00:00Z',
      settings: { band: { start: 16, stop: 6 }, beadMassG: 2000 },
    })
    expect(changed.body.history).toHaveLength(2)
  })

  test('takes settings from 2000 to a year ahead, and takes back those that begin at a time', async () => {
    const { id } = await makeRig('redated')
    const change = (body: unknown) => world.call(keeper, `PATCH /v1/rigs/${id}`, body)
    const froms = async () =>
      (await world.call(keeper, `GET /v1/rigs/${id}`)).body.history.map((one: { from: string }) => one.from)
    const first = (await froms())[0]
    for (const from of ['0001-01-01T00:00:00Z', '1999-12-31T23:59:59Z', '9999-01-01T00:00:00Z'])
      expect((await change({ from, settings: BAND })).body).toMatchObject({
        status: 422,
        errors: [{ pointer: '/from' }],
      })
    expect((await change({ from: '2026-09-01T06:00:00Z', name: 'Alone' })).body).toMatchObject({
      status: 422,
      errors: [{ pointer: '/from' }],
    })
    expect(await froms()).toEqual([first])
    expect((await change({ from: first, settings: { ...BAND, volumeL: 40 } })).body.history).toHaveLength(1)
    const from = '2027-03-01T06:00:00Z'
    expect((await change({ from, settings: BAND })).status).toBe(200)
    expect((await change({ from, settings: null })).status).toBe(200)
    expect(await froms()).toEqual([first])
    for (const gone of [from, first]) expect((await change({ from: gone, settings: null })).status).toBe(422)
  })

  test('has so many dated settings at most, and none of them is long', async () => {
    const { id } = await makeRig('bounded')
    const change = (body: unknown) =>
      world.call(keeper, `PATCH /v1/rigs/${id}`, body, { 'content-type': 'application/json' })
    const long = { ...BAND, remark: 'é'.repeat(SETTINGS_MAX_BYTES / 2) }
    expect((await change({ settings: long })).body).toMatchObject({
      status: 422,
      errors: [{ pointer: '/settings' }],
    })
    const deep = `{"settings":{"band":{"start":15,"stop":6},"x":${'['.repeat(60_000)}${']'.repeat(60_000)}}}`
    expect((await change(deep)).body).toMatchObject({ status: 422, errors: [{ pointer: '/settings' }] })
    const statuses: number[] = []
    for (let i = 0; i < SETTINGS_PER_RIG_MAX; i++)
      statuses.push((await change({ from: dayOf(i), settings: BAND })).status)
    expect(new Set(statuses.slice(0, -1))).toEqual(new Set([200]))
    expect(statuses.at(-1)).toBe(409)
    expect((await change({ from: dayOf(0), settings: BAND })).status).toBe(200)
  })

  test.each([
    [{ band: { start: 6, stop: 15 } }, '/settings/band/start'],
    [{ band: { start: 15 } }, '/settings/band/stop'],
    [{ ...BAND, beadMassG: 2_000_000 }, '/settings/beadMassG'],
    [{ ...BAND, flowLPerMin: 'fast' }, '/settings/flowLPerMin'],
    [{}, '/settings/band'],
  ])('with settings %o is refused at %s', async (settings, pointer) => {
    const answer = await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, {
      name: 'x',
      slug: 'bad',
      settings,
    })
    expect(answer.status).toBe(422)
    expect(answer.body.errors.map((error: { pointer: string }) => error.pointer)).toContain(pointer)
  })

  test('with a number out of its range is told the range', async () => {
    const body = { name: 'x', slug: 'bad', settings: { ...BAND, beadMassG: 2_000_000 } }
    const answer = await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, body)
    expect(answer.body.errors).toEqual([
      {
        pointer: '/settings/beadMassG',
        detail: 'a number from 10 to 50000',
        range: { min: 10, max: 50_000 },
      },
    ])
  })

  test.each([
    ['x'.repeat(81), 'at most 80 characters'],
    ['  ', 'this is needed'],
  ])('named %j is refused in words that stand in a form', async (name, detail) => {
    const body = { name, slug: 'named', settings: BAND }
    const answer = await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, body)
    expect(answer.body.errors).toEqual([{ pointer: '/name', detail }])
  })

  test('has a slug of its own within the hangar, and not beyond it', async () => {
    await makeRig('taken')
    const again = await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, {
      name: 'x',
      slug: 'taken',
      settings: BAND,
    })
    expect(again.body).toMatchObject({
      status: 409,
      type: '/problems/conflict',
      errors: [{ pointer: '/slug', detail: 'another rig of this hangar is called so' }],
    })
    const other = await world.hangar('Elsewhere')
    const there = await world.call(HOST, `POST /v1/hangars/${other}/rigs`, {
      name: 'x',
      slug: 'taken',
      settings: BAND,
    })
    expect(there.status).toBe(201)
  })

  test('is deleted by its name, its readings and entries with it', async () => {
    const rig = await makeRig('gone')
    await world.call(keeper, `POST /v1/rigs/${rig.id}/logbook`, { at: '2026-09-01T06:00:00Z', what: 'on' })
    expect((await world.call(keeper, `DELETE /v1/rigs/${rig.id}`, { name: 'other' })).status).toBe(422)
    expect((await world.call(keeper, `DELETE /v1/rigs/${rig.id}`, { name: 'gone' })).body.isDone).toBe(true)
    expect((await world.call(keeper, `GET /v1/rigs/${rig.id}`)).status).toBe(404)
    expect((await world.call(keeper, `GET /v1/rigs/${rig.id}/logbook`)).status).toBe(404)
  })
})

describe('the logbook', () => {
  let badRig: string | undefined

  test('takes an entry, corrects it, removes it, and pages', async () => {
    const rig = await makeRig('logged')
    const path = `/v1/rigs/${rig.id}/logbook`
    const added = await world.call(keeper, `POST ${path}`, {
      at: '2026-09-01T08:00:00+02:00',
      what: 'bake',
      detail: { tempC: 120, hours: 4, jar: 'blue' },
    })
    expect(added.status).toBe(201)
    expect(added.body).toMatchObject({
      at: '2026-09-01T06:00:00Z',
      detail: { tempC: '120', hours: '4', jar: 'blue' },
    })
    const moved = await world.call(keeper, `PATCH ${path}/${added.body.id}`, { at: '2026-09-02T06:00:00Z' })
    expect(moved.body).toMatchObject({ at: '2026-09-02T06:00:00Z', what: 'bake', detail: { tempC: '120' } })
    for (const day of ['03', '04', '05'])
      await world.call(keeper, `POST ${path}`, {
        at: `2026-09-${day}T06:00:00Z`,
        what: 'flight',
        detail: { hours: 1 },
      })
    const first = await world.call(keeper, `GET ${path}?limit=3`)
    expect(first.body.items.map((entry: { at: string }) => entry.at.slice(8, 10))).toEqual(['05', '04', '03'])
    const second = await world.call(
      keeper,
      `GET ${path}?limit=3&after=${encodeURIComponent(first.body.next)}`,
    )
    expect(second.body.items.map((entry: { what: string }) => entry.what)).toEqual(['bake'])
    expect(second.body.next).toBeNull()
    expect((await world.call(keeper, `DELETE ${path}/${added.body.id}`)).status).toBe(204)
    expect((await world.call(keeper, `DELETE ${path}/${added.body.id}`)).status).toBe(404)
  })

  test('of entries for the same minute the one made last is the last word, whoever is asked', async () => {
    const rig = await makeRig('same-minute')
    const path = `/v1/rigs/${rig.id}/logbook`
    const said = ['off', 'on', 'off', 'on', 'off', 'on', 'off', 'on']
    for (const what of said) await world.call(keeper, `POST ${path}`, { at: '2026-09-01T06:00:00Z', what })
    const pages = [await world.call(keeper, `GET ${path}?limit=3`)]
    for (let page = pages[0]; page?.body.next; page = pages.at(-1))
      pages.push(await world.call(keeper, `GET ${path}?limit=3&after=${encodeURIComponent(page.body.next)}`))
    const whats = pages.flatMap((page) => page.body.items.map((entry: { what: string }) => entry.what))
    expect(whats).toEqual(said.toReversed())
  })

  test.each([
    [{ at: '2026-09-01T06:00:00', what: 'flight' }, '/at'],
    [{ at: '2062-09-01T06:00:00Z', what: 'flight' }, '/at'],
    [{ at: '1926-09-01T06:00:00Z', what: 'flight' }, '/at'],
    [{ at: '2026-09-01T06:00:00Z', what: 'party' }, '/what'],
    [{ at: '2026-09-01T06:00:00Z', what: 'bake', detail: { tempC: 5000 } }, '/detail/tempC'],
    [{ at: '2026-09-01T06:00:00Z', what: 'salt-check', detail: { salt: 'NaOH' } }, '/detail/salt'],
  ])('refuses %o at %s', async (entry, pointer) => {
    badRig ??= (await makeRig('bad-entries')).id
    const answer = await world.call(keeper, `POST /v1/rigs/${badRig}/logbook`, entry)
    expect([answer.status, answer.body.errors[0].pointer]).toEqual([422, pointer])
  })

  test.each(['flight', 'away', 'off', 'note'])(
    'an entry of %s says what has happened, not what will',
    async (what) => {
      badRig ??= (await makeRig('bad-entries')).id
      const path = `/v1/rigs/${badRig}/logbook`
      const aheadBy = (seconds: number): string =>
        new Date((world.clock.nowS + seconds) * 1000).toISOString().replace('.000', '')
      const add = async (seconds: number) =>
        world.call(keeper, `POST ${path}`, { at: aheadBy(seconds), what })
      const early = await add(301)
      expect(early.status).toBe(422)
      expect(early.body.errors).toEqual([
        { pointer: '/at', detail: 'the time is more than 5 minutes ahead of the server’s clock' },
      ])
      // A phone's clock that is a little fast is no mistake of its owner's.
      const fast = await add(299)
      expect(fast.status).toBe(201)
      const moved = await world.call(keeper, `PATCH ${path}/${fast.body.id}`, { at: aheadBy(3600) })
      expect([moved.status, moved.body.errors[0].pointer]).toEqual([422, '/at'])
    },
  )

  test('how long an absence lasts may lie ahead, by a year and no more', async () => {
    badRig ??= (await makeRig('bad-entries')).id
    const away = async (days: number) =>
      world.call(keeper, `POST /v1/rigs/${badRig}/logbook`, {
        at: new Date(world.clock.nowS * 1000).toISOString(),
        what: 'away',
        detail: { until: new Date((world.clock.nowS + days * 86_400) * 1000).toISOString() },
      })
    expect((await away(90)).status).toBe(201)
    const far = await away(400)
    expect([far.status, far.body.errors[0].pointer]).toEqual([422, '/detail/until'])
  })

  test('keeps names that every object has, and refuses the one that cannot be kept', async () => {
    const path = `/v1/rigs/${(await makeRig('proto')).id}/logbook`
    const add = (detail: string) =>
      world.call(keeper, `POST ${path}`, `{"at":"2026-09-01T06:00:00Z","what":"note","detail":${detail}}`, {
        'content-type': 'application/json',
      })
    expect((await add('{"toString":"hello"}')).body.detail).toEqual({ toString: 'hello' })
    expect((await world.call(keeper, `GET ${path}`)).body.items[0].detail).toEqual({ toString: 'hello' })
    expect((await add('{"__proto__":"hello"}')).body).toMatchObject({
      status: 422,
      errors: [{ pointer: '/detail/__proto__' }],
    })
  })

  test('text is kept as it was typed and comes back as data', async () => {
    const rig = await makeRig('typed')
    const text = '<script>alert(1)</script> " \' & \u202e \u{1F4A7} done'
    const path = `/v1/rigs/${rig.id}/logbook`
    await world.call(keeper, `POST ${path}`, { at: '2026-09-01T06:00:00Z', what: 'note', detail: { text } })
    const list = await world.call(keeper, `GET ${path}`)
    expect(list.headers.get('content-type')).toBe('application/json')
    expect(list.body.items[0].detail.text).toBe(text)
  })
})

describe('sources', () => {
  test('have two live keys at most, for changing over without a gap', async () => {
    await makeRig('keys')
    const source = (
      await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: ['keys'] })
    ).body
    const [one, two] = [
      await world.call(keeper, `POST /v1/sources/${source.id}/keys`),
      await world.call(keeper, `POST /v1/sources/${source.id}/keys`),
    ]
    expect((await world.call(keeper, `POST /v1/sources/${source.id}/keys`)).status).toBe(409)
    expect((await world.call(keeper, `DELETE /v1/sources/${source.id}/keys/${one.body.id}`)).status).toBe(204)
    expect((await world.call({ bearer: one.body.key }, 'POST /v1/readings', { humidity: 9 })).status).toBe(
      401,
    )
    expect((await world.call({ bearer: two.body.key }, 'POST /v1/readings', { humidity: 9 })).status).toBe(
      200,
    )
    const shown = await world.call(keeper, `GET /v1/sources/${source.id}`)
    expect(shown.text).not.toContain(two.body.key)
  })

  test('show the posts that had something set aside, as they came, secrets blanked', async () => {
    await makeRig('posts')
    const source = (
      await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: ['posts'] })
    ).body
    const key = (await world.call(keeper, `POST /v1/sources/${source.id}/keys`)).body.key
    const long = { humidity: 'unavailable', padding: 'x'.repeat(3000), password: 'sesame' }
    await world.call({ bearer: key }, 'POST /v1/readings', long)
    const { items } = (await world.call(keeper, `GET /v1/sources/${source.id}/posts`)).body
    expect(items).toHaveLength(1)
    expect(items[0]).toMatchObject({
      kind: 'set-aside',
      isCut: false,
      replayedAt: null,
      contentType: 'application/json',
    })
    expect(items[0].result.setAside[0]).toMatchObject({ reason: 'unavailable', pointer: '/humidity' })
    expect(JSON.parse(items[0].body).padding).toBe(long.padding)
    expect(items[0].body).not.toContain('sesame')
  })

  test('serve so many rigs at most', async () => {
    const rigs = Array.from({ length: SOURCE_RIGS_MAX + 1 }, () => 'first')
    const answer = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs })
    expect(answer.body).toMatchObject({ status: 422, errors: [{ pointer: '/rigs' }] })
    expect(answer.body.errors[0].detail).toBe('At most 100 rigs a source: add another for the rest.')
  })

  test('of unknown rigs are refused at the place', async () => {
    const body = { name: 'Hub', rigs: ['first', 'nowhere'] }
    const answer = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, body)
    expect(answer.body).toMatchObject({ status: 422, errors: [{ pointer: '/rigs/1' }] })
  })
})

describe('sizing', () => {
  test('answers with ranges, and says what it supposes', async () => {
    const question = {
      volumeL: 45,
      flowLPerMin: 2.5,
      beadMassG: 2000,
      ...BAND,
      ambient: { humidity: 60, temperature: 15 },
      flightEveryDays: 12,
    }
    const { status, body } = await world.call(keeper, 'POST /v1/sizing', question)
    expect(status).toBe(200)
    for (const range of [body.dryDownH, body.flightsPerFill, body.runsPerWeek]) {
      expect(range.low).toBeLessThanOrEqual(range.mid)
      expect(range.mid).toBeLessThanOrEqual(range.high)
    }
    expect(body.assumed.length).toBeGreaterThan(0)
    const refused = await world.call(keeper, 'POST /v1/sizing', { ...question, band: { start: 6, stop: 15 } })
    expect(refused.body.errors[0].pointer).toBe('/band/start')
  })

  test('says of a loop that cannot reach its band that it never rests, with null for what has no end', async () => {
    const { status, body } = await world.call(keeper, 'POST /v1/sizing', {
      volumeL: 45,
      flowLPerMin: 1,
      beadMassG: 2000,
      ...BAND,
      ambient: { humidity: 80, temperature: 15 },
      flightEveryDays: 12,
      leakLPerH: 10,
    })
    expect(status).toBe(200)
    expect(body).toMatchObject({
      neverRestsShare: 1,
      runMin: { low: null, mid: null, high: null },
      dryDownH: { low: null, mid: null, high: null },
      runsPerWeek: { low: 0, mid: 0, high: 0 },
    })
  })
})
