import { beforeAll, describe, expect, test } from 'vitest'
import { HOST, HOST_TOKEN, makeWorld, NOBODY, ORIGIN, type World } from './world.ts'

let world: World
beforeAll(async () => {
  world = await makeWorld()
})

describe('headers', () => {
  test.each([
    'GET /healthz',
    'GET /v1/me',
    'GET /openapi.json',
    'GET /v1/nothing',
    'POST /v1/sign-in/options',
  ])('on %s let nothing be loaded, framed, guessed or kept', async (line) => {
    const { headers } = await world.call(NOBODY, line)
    const policy = headers.get('content-security-policy') ?? ''
    expect(policy).toContain("default-src 'none'")
    expect(policy).toContain("frame-ancestors 'none'")
    expect(policy).not.toContain('unsafe')
    expect(headers.get('x-content-type-options')).toBe('nosniff')
    expect(headers.get('referrer-policy')).toBe('no-referrer')
    expect(headers.get('x-frame-options')).toBe('DENY')
    expect(headers.get('strict-transport-security')).toMatch(/max-age=\d{8}/)
    if (line !== 'GET /healthz') expect(headers.get('cache-control')).toBe('no-store')
  })

  test('no answer allows another origin to read it', async () => {
    const answer = await world.call(HOST, 'GET /v1/me', undefined, { origin: 'https://elsewhere.test' })
    expect(answer.headers.get('access-control-allow-origin')).toBeNull()
  })
})

describe('problems', () => {
  test('of form name the place and never the insides', async () => {
    const answer = await world.call(HOST, 'POST /v1/hangars', { name: '' })
    expect(answer.status).toBe(422)
    expect(answer.headers.get('content-type')).toBe('application/problem+json')
    expect(answer.body).toMatchObject({ type: '/problems/invalid', errors: [{ pointer: '/name' }] })
  })

  test.each([
    ['not JSON', '{"name":', {}, 400],
    ['another type', 'name=x', { 'content-type': 'application/x-www-form-urlencoded' }, 415],
    ['too large', JSON.stringify({ name: 'x'.repeat(200_000) }), {}, 413],
    ['no body', undefined, {}, 422],
    ['an array', '[]', {}, 422],
    ['a prototype', '{"__proto__": {"name": "x"}}', {}, 422],
  ])('%s is answered with %3$s', async (_, body, headers, status) => {
    const answer = await world.call(HOST, 'POST /v1/hangars', body, headers)
    expect(answer.status).toBe(status)
    expect(answer.body.status).toBe(status)
  })

  test('of our own making are logged under the request id and say nothing to the caller', async () => {
    const broken = await makeWorld({
      health: {
        checkedAtS: () => Promise.reject(new Error('the tank is in the cellar')),
        forHost: () => Promise.reject(new Error('no')),
      },
    })
    const answer = await broken.call(NOBODY, 'GET /healthz')
    expect(answer.status).toBe(500)
    expect(answer.text).not.toContain('cellar')
    expect(broken.log.join('\n')).toContain('cellar')
    expect(broken.log.join('\n')).toContain(answer.body.request)
  })
})

describe('the log', () => {
  test('has a line for every refusal: request id, pattern of the route, status, and nothing typed', async () => {
    const quiet = await makeWorld()
    const hangar = await quiet.hangar('Quiet')
    const { who } = await quiet.join(hangar, 'watcher', 'Nameless')
    const refused = await quiet.call(who, `PATCH /v1/hangars/${hangar}`, { name: 'Typed' })
    const lost = await quiet.call(NOBODY, 'GET /v1/typed/by/hand')
    expect(quiet.log.map((line) => JSON.parse(line))).toEqual([
      {
        event: 'refused',
        request: refused.body.request,
        method: 'PATCH',
        route: '/v1/hangars/:hangar',
        status: 403,
      },
      { event: 'refused', request: lost.body.request, method: 'GET', route: '/*', status: 404 },
    ])
  })
})

describe('attempts', () => {
  test('to sign in are counted by address and refused with a time to wait', async () => {
    const seen: string[] = []
    const strict = await makeWorld({
      attempts: {
        allow: (address) => {
          seen.push(address)
          return Promise.resolve(seen.filter((one) => one === address).length <= 3)
        },
      },
    })
    const from = (address: string) =>
      strict.call(
        NOBODY,
        'POST /v1/invites/accept',
        { token: 'guess'.padEnd(43, 'x') },
        { 'cf-connecting-ip': address },
      )
    for (const expected of [410, 410, 410, 429]) expect((await from('192.0.2.1')).status).toBe(expected)
    expect((await from('192.0.2.2')).status).toBe(410)
    const refused = await from('192.0.2.1')
    expect(refused.headers.get('retry-after')).toBe('60')
    expect(strict.log.join('\n')).not.toContain('192.0.2')
  })
})

describe('the origin of a change', () => {
  test('is checked where a cookie could be borrowed, not where a script shows its token', async () => {
    const hangar = await world.hangar('Origins')
    const { who } = await world.join(hangar, 'keeper', 'Kim')
    const line = `PATCH /v1/hangars/${hangar}`
    const withOrigin = (origin: string) => world.call(who, line, { name: 'New' }, { origin })
    expect((await withOrigin('https://elsewhere.test')).body.type).toBe('/problems/wrong-origin')
    expect((await withOrigin(ORIGIN)).status).toBe(200)
    const bare = await world.app.request(`${ORIGIN}/v1/hangars/${hangar}`, {
      method: 'PATCH',
      headers: { cookie: who.cookie, 'content-type': 'application/json' },
      body: '{"name":"New"}',
    })
    expect(bare.status).toBe(403)
    const sameSite = await world.call(who, line, { name: 'New' }, { 'sec-fetch-site': 'same-site' })
    expect(sameSite.status).toBe(403)
    const script = await world.token(who, 'write')
    expect(
      (await world.call(script, line, { name: 'New' }, { origin: 'https://elsewhere.test' })).status,
    ).toBe(200)
  })

  test('cannot be used to sign a visitor in as somebody else', async () => {
    const invite = await world.call(HOST, `POST /v1/hangars/${await world.hangar('Lure')}/invites`, {
      role: 'watcher',
    })
    const body = { token: invite.body.token }
    const lured = await world.call(NOBODY, 'POST /v1/invites/accept', body, {
      origin: 'https://elsewhere.test',
    })
    expect(lured.status).toBe(403)
    expect(lured.cookie).toBeUndefined()
  })
})

describe('secrets', () => {
  test('are in no log and in no later answer, whatever is called with them', async () => {
    const spied = await makeWorld()
    const hangar = await spied.hangar('Secrets')
    const invite = await spied.call(HOST, `POST /v1/hangars/${hangar}/invites`, { role: 'keeper' })
    const accepted = await spied.call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token })
    const who = { cookie: accepted.cookie ?? '' }
    const token = await spied.call(who, 'POST /v1/tokens', { name: 'script', may: 'write' })
    const link = await spied.call(who, 'POST /v1/me/links')
    const settings = { band: { start: 15, stop: 6 } }
    const rig = await spied.call(who, `POST /v1/hangars/${hangar}/rigs`, { name: 'R', slug: 'r', settings })
    const source = await spied.call(who, `POST /v1/hangars/${hangar}/sources`, { name: 'Hub', rigs: ['r'] })
    const key = String((await spied.call(who, `POST /v1/sources/${source.body.id}/keys`)).body.key)
    // As hubs do that do not know better: the key in the body of a post that is kept, and in the address.
    await spied.call({ bearer: key }, 'POST /v1/readings', { humidity: 'none', note: `my key is ${key}` })
    await spied.call(NOBODY, `POST /v1/readings?key=${key}`, { humidity: 9 })
    const secrets = [
      HOST_TOKEN,
      key,
      invite.body.token,
      who.cookie.slice(who.cookie.indexOf('=') + 1),
      token.body.token,
      link.body.token,
    ]
    const answers: string[] = []
    const gets = Object.entries((await spied.call(HOST, 'GET /openapi.json')).body.paths)
      .filter(([path, methods]) => !path.includes('{') && Object.hasOwn(Object(methods), 'get'))
      .map(([path]) => path)
    const ofHangar = ['', '/invites', '/members', '/rigs', '/sources', '/export'].map(
      (path) => `/v1/hangars/${hangar}${path}`,
    )
    const ofSource = ['', '/posts'].map((path) => `/v1/sources/${source.body.id}${path}`)
    const ofRig = ['', '/now', '/logbook', '/export.csv'].map((path) => `/v1/rigs/${rig.body.id}${path}`)
    for (const path of [...gets, ...ofHangar, ...ofSource, ...ofRig])
      for (const caller of [HOST, who, { bearer: String(token.body.token) }]) {
        const answer = await spied.call(caller, `GET ${path}`)
        answers.push(answer.text, JSON.stringify([...answer.headers]))
      }
    // Failures too: a secret in the wrong place, in a body that cannot be read, in an address.
    for (const secret of secrets) {
      answers.push((await spied.call({ bearer: secret.slice(1) }, 'GET /v1/me')).text)
      answers.push((await spied.call(HOST, 'POST /v1/hangars', `{"name": ${secret}`)).text)
      answers.push((await spied.call(NOBODY, `GET /v1/nothing/${secret.slice(0, 30)}`)).text)
      answers.push((await spied.call(NOBODY, 'POST /v1/invites/read', { token: `${secret}x` })).text)
    }
    expect(gets.length).toBeGreaterThan(5)
    for (const secret of secrets) {
      expect(secret.length).toBeGreaterThan(30)
      for (const text of answers) expect(text).not.toContain(secret.slice(0, 30))
      expect(spied.log.join('\n')).not.toContain(secret.slice(0, 30))
    }
  })
})
