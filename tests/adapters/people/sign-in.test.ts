import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
import { SESSION_ABSOLUTE_S, SESSION_IDLE_S, INVITE_LIFE_S } from '../../../src/core/limits.ts'
import { HOST, makeWorld, NOBODY, ORIGIN, type World } from './world.ts'

let world: World
beforeAll(async () => {
  world = await makeWorld()
})

describe('an invite', () => {
  test('signs a new person in once, and only once', async () => {
    const hangar = await world.hangar('North row')
    const invite = await world.call(HOST, `POST /v1/hangars/${hangar}/invites`, {
      role: 'keeper',
      name: 'Ada',
    })
    expect(invite.status).toBe(201)
    expect(invite.body.link).toBe(`${ORIGIN}/join#${invite.body.token}`)

    const look = await world.call(NOBODY, 'POST /v1/invites/read', { token: invite.body.token })
    expect(look.body).toMatchObject({
      kind: 'join',
      name: 'Ada',
      hangars: [{ name: 'North row', role: 'keeper' }],
    })

    const use = { token: invite.body.token, name: 'Ada L', zone: 'Europe/Lisbon', unit: 'degF' }
    const accepted = await world.call(NOBODY, 'POST /v1/invites/accept', use)
    expect(accepted.status).toBe(200)
    expect(accepted.body).toMatchObject({
      kind: 'person',
      person: { name: 'Ada L', zone: 'Europe/Lisbon', unit: 'degF' },
      hangars: [{ id: hangar, role: 'keeper' }],
    })
    const setCookie = accepted.headers.get('set-cookie') ?? ''
    for (const part of ['__Host-beadwatch=', 'Path=/', 'Secure', 'HttpOnly', 'SameSite=Lax'])
      expect(setCookie).toContain(part)
    expect(setCookie).not.toContain('Domain')

    const again = await world.call(NOBODY, 'POST /v1/invites/accept', use)
    expect(again.status).toBe(410)
    expect(again.cookie).toBeUndefined()
  })

  test('used twice at the same moment makes one person', async () => {
    const hangar = await world.hangar('Race')
    const invite = await world.call(HOST, `POST /v1/hangars/${hangar}/invites`, { role: 'watcher' })
    const answers = await Promise.all(
      [1, 2, 3].map((n) =>
        world.call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token, name: `P${n}` }),
      ),
    )
    expect(answers.map((answer) => answer.status).sort((a, b) => a - b)).toEqual([200, 410, 410])
    const members = await world.call(HOST, `GET /v1/hangars/${hangar}/members`)
    expect(members.body.items).toHaveLength(1)
  })

  test('is too old after its life', async () => {
    const hangar = await world.hangar('Late')
    const invite = await world.call(HOST, `POST /v1/hangars/${hangar}/invites`, { role: 'watcher' })
    world.clock.nowS += INVITE_LIFE_S
    const answer = await world.call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token })
    expect(answer.status).toBe(410)
  })

  test('taken back is gone', async () => {
    const hangar = await world.hangar('Taken back')
    const invite = await world.call(HOST, `POST /v1/hangars/${hangar}/invites`, { role: 'watcher' })
    expect((await world.call(HOST, `DELETE /v1/hangars/${hangar}/invites/${invite.body.id}`)).status).toBe(
      204,
    )
    const answer = await world.call(NOBODY, 'POST /v1/invites/accept', { token: invite.body.token })
    expect(answer.status).toBe(410)
  })

  test('adds a hangar to somebody already signed in, and never takes a role away', async () => {
    const [one, two] = [await world.hangar('One'), await world.hangar('Two')]
    const { who } = await world.join(one, 'keeper', 'Bo')
    const link = await world.call(HOST, 'POST /v1/invites', {
      hangars: [
        { hangar: one, role: 'watcher' },
        { hangar: two, role: 'watcher' },
      ],
    })
    const accepted = await world.call(who, 'POST /v1/invites/accept', { token: link.body.token })
    expect(accepted.cookie).toBeUndefined()
    expect(accepted.body.hangars.map((h: { id: string; role: string }) => [h.id, h.role])).toEqual([
      [one, 'keeper'],
      [two, 'watcher'],
    ])
  })
})

describe('a session', () => {
  test('ends after its idle time, and use puts that off', async () => {
    const { who } = await world.join(await world.hangar('Idle'), 'watcher', 'Cy')
    world.clock.nowS += SESSION_IDLE_S - 10
    expect((await world.call(who, 'GET /v1/me')).status).toBe(200)
    world.clock.nowS += SESSION_IDLE_S - 10
    expect((await world.call(who, 'GET /v1/me')).status).toBe(200)
    world.clock.nowS += SESSION_IDLE_S
    expect((await world.call(who, 'GET /v1/me')).status).toBe(401)
  })

  test('ends after its absolute time however much it is used', async () => {
    const { who } = await world.join(await world.hangar('Absolute'), 'watcher', 'Di')
    const startS = world.clock.nowS
    while (world.clock.nowS - startS + 30 * 86_400 < SESSION_ABSOLUTE_S) {
      world.clock.nowS += 30 * 86_400
      expect((await world.call(who, 'GET /v1/me')).status).toBe(200)
    }
    world.clock.nowS = startS + SESSION_ABSOLUTE_S
    expect((await world.call(who, 'GET /v1/me')).status).toBe(401)
  })

  test('on another device comes from a short-lived link; each can be signed out, or all', async () => {
    const first = await world.join(await world.hangar('Devices'), 'watcher', 'Eve')
    const link = await world.call(first.who, 'POST /v1/me/links')
    const phone = await world.call(
      NOBODY,
      'POST /v1/invites/accept',
      { token: link.body.token },
      { 'user-agent': 'Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0' },
    )
    expect(phone.body.person.id).toBe(first.id)
    const list = await world.call(first.who, 'GET /v1/sessions')
    expect(list.body.items).toHaveLength(2)
    const other = list.body.items.find((session: { isThis: boolean }) => !session.isThis)
    expect(other.label).toBe('Firefox on Android')

    expect((await world.call(first.who, `DELETE /v1/sessions/${other.id}`)).status).toBe(204)
    expect((await world.call({ cookie: phone.cookie ?? '' }, 'GET /v1/me')).status).toBe(401)
    expect((await world.call(first.who, 'GET /v1/me')).status).toBe(200)

    expect((await world.call(first.who, 'DELETE /v1/sessions')).status).toBe(204)
    expect((await world.call(first.who, 'GET /v1/me')).status).toBe(401)
  })

  test('sign-out ends this device and takes its cookie', async () => {
    const { who } = await world.join(await world.hangar('Out'), 'watcher', 'Fay')
    const out = await world.call(who, 'POST /v1/sign-out')
    expect(out.status).toBe(204)
    expect(out.headers.get('set-cookie')).toMatch(/__Host-beadwatch=;.*Max-Age=0/)
    expect((await world.call(who, 'GET /v1/me')).status).toBe(401)
  })
})

describe('a personal token', () => {
  test('to read reads, to write writes, neither makes another; it expires and can be revoked', async () => {
    const hangar = await world.hangar('Scripts')
    const { who } = await world.join(hangar, 'keeper', 'Gus')
    const [reader, writer] = [await world.token(who, 'read'), await world.token(who, 'write')]
    expect((await world.call(reader, `GET /v1/hangars/${hangar}`)).status).toBe(200)
    expect((await world.call(reader, `PATCH /v1/hangars/${hangar}`, { name: 'No' })).status).toBe(403)
    expect((await world.call(writer, `PATCH /v1/hangars/${hangar}`, { name: 'Yes' })).body.name).toBe('Yes')
    expect((await world.call(writer, 'POST /v1/tokens', { name: 'more', may: 'write' })).status).toBe(403)

    const list = await world.call(who, 'GET /v1/tokens')
    expect(list.body.items.map((token: { may: string }) => token.may).sort()).toEqual(['read', 'write'])
    const read = list.body.items.find((token: { may: string }) => token.may === 'read')
    expect(read.usedAt).not.toBeNull()
    expect((await world.call(who, `DELETE /v1/tokens/${read.id}`)).status).toBe(204)
    expect((await world.call(reader, 'GET /v1/me')).status).toBe(401)
    world.clock.nowS += 91 * 86_400
    expect((await world.call(writer, 'GET /v1/me')).status).toBe(401)
  })
})

describe('the last keeper', () => {
  test('cannot leave, be removed, step down or delete the account; handing over frees them', async () => {
    const hangar = await world.hangar('Keepers')
    const keeper = await world.join(hangar, 'keeper', 'Hal')
    const watcher = await world.join(hangar, 'watcher', 'Ivy')
    const path = `/v1/hangars/${hangar}/members`
    for (const line of [`DELETE ${path}/${keeper.id}`, 'DELETE /v1/me']) {
      const answer = await world.call(keeper.who, line)
      expect(answer.body).toMatchObject({ status: 409, type: '/problems/last-keeper' })
    }
    expect((await world.call(keeper.who, `PATCH ${path}/${keeper.id}`, { role: 'watcher' })).status).toBe(409)

    expect((await world.call(watcher.who, `DELETE ${path}/${keeper.id}`)).status).toBe(403)
    expect((await world.call(keeper.who, `PATCH ${path}/${watcher.id}`, { role: 'keeper' })).status).toBe(200)
    expect((await world.call(keeper.who, `DELETE ${path}/${keeper.id}`)).status).toBe(204)
    expect((await world.call(keeper.who, `GET /v1/hangars/${hangar}`)).status).toBe(404)
    expect((await world.call(watcher.who, `GET ${path}`)).body.items).toHaveLength(1)
  })
})

describe('a hangar', () => {
  test('is deleted only by its name, and is then not there', async () => {
    const hangar = await world.hangar('Short')
    const { who } = await world.join(hangar, 'keeper', 'Jo')
    expect((await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Long' })).status).toBe(422)
    const answer = await world.call(who, `DELETE /v1/hangars/${hangar}`, { name: 'Short' })
    expect(answer.body.isDone).toBe(true)
    expect((await world.call(who, `GET /v1/hangars/${hangar}`)).status).toBe(404)
    const left = await env.DB.prepare('SELECT count(*) AS n FROM member WHERE hangar = ?1')
      .bind(hangar)
      .first()
    expect(left).toEqual({ n: 0 })
  })
})
