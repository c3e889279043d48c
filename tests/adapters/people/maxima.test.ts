/** What one hangar or person may have at most: one more is refused, and removing one makes room. */
import { env } from 'cloudflare:workers'
import { beforeAll, expect, test } from 'vitest'
import {
  INVITES_PER_HANGAR_MAX,
  PASSKEYS_PER_PERSON_MAX,
  RIGS_PER_HANGAR_MAX,
  SESSIONS_PER_PERSON_MAX,
  SOURCES_PER_HANGAR_MAX,
  TOKENS_PER_PERSON_MAX,
} from '../../../src/core/limits.ts'
import { HOST, makeWorld, NOBODY, type Credential, type World } from './world.ts'

let world: World
let hangar: string
let keeper: { who: Credential; id: string }
beforeAll(async () => {
  world = await makeWorld()
  hangar = await world.hangar('Full')
  keeper = await world.join(hangar, 'keeper', 'Ada')
})

const SETTINGS = { band: { start: 15, stop: 6 } }

test.each([
  ['rigs', RIGS_PER_HANGAR_MAX, (i: number) => ({ name: `R${i}`, slug: `r${i}`, settings: SETTINGS })],
  ['sources', SOURCES_PER_HANGAR_MAX, (i: number) => ({ name: `S${i}`, rigs: ['r0'] })],
  ['invites', INVITES_PER_HANGAR_MAX, () => ({ role: 'watcher' })],
] as const)('%s of a hangar: %i', async (what, most, bodyOf) => {
  const add = (i: number) => world.call(keeper.who, `POST /v1/hangars/${hangar}/${what}`, bodyOf(i))
  for (let i = 0; i < most; i++) expect((await add(i)).status).toBe(201)
  const over = await add(most)
  expect(over.status).toBe(409)
  expect(over.body.detail).toContain(String(most))
})

test('an invite that was used or has expired takes no room', async () => {
  const path = `/v1/hangars/${hangar}/invites`
  const [open] = (await world.call(keeper.who, `GET ${path}`)).body.items
  expect((await world.call(keeper.who, `DELETE ${path}/${open.id}`)).status).toBe(204)
  const last = await world.call(keeper.who, `POST ${path}`, { role: 'watcher' })
  expect((await world.call(keeper.who, `POST ${path}`, { role: 'watcher' })).status).toBe(409)
  await world.call(NOBODY, 'POST /v1/invites/accept', { token: last.body.token, name: 'Cleo' })
  expect((await world.call(keeper.who, `POST ${path}`, { role: 'watcher' })).status).toBe(201)
})

const addToken = () => world.call(keeper.who, 'POST /v1/tokens', { name: 'script', may: 'read' })

test(`tokens of a person: ${TOKENS_PER_PERSON_MAX}`, async () => {
  let last = ''
  for (let i = 0; i < TOKENS_PER_PERSON_MAX; i++) last = String((await addToken()).body.id)
  expect((await addToken()).status).toBe(409)
  expect((await world.call(keeper.who, `DELETE /v1/tokens/${last}`)).status).toBe(204)
  expect((await addToken()).status).toBe(201)
})

const ask = () => world.call(keeper.who, 'POST /v1/passkeys/options')

test(`passkeys of a person: ${PASSKEYS_PER_PERSON_MAX}`, async () => {
  const add = env.DB.prepare(
    `INSERT INTO passkey (id, person, public_key, counter, transports, name, made_at_s) VALUES (?1, ?2, x'00', 0, '[]', 'k', 0)`,
  )
  for (let i = 0; i < PASSKEYS_PER_PERSON_MAX; i++) {
    expect((await ask()).status).toBe(200)
    await add.bind(`key-${i}`, keeper.id).run()
  }
  const over = await ask()
  expect(over.status).toBe(409)
  expect(over.body.detail).toContain(String(PASSKEYS_PER_PERSON_MAX))
})

const statusOf = async (who: Credential | undefined) => (await world.call(who ?? NOBODY, 'GET /v1/me')).status

test(`sessions of a person: ${SESSIONS_PER_PERSON_MAX}; a new one ends the one longest unused`, async () => {
  const ben = await world.join(await world.hangar('Roomy'), 'watcher', 'Ben')
  const signIn = async (): Promise<Credential> => {
    world.clock.nowS += 1
    const link = await world.call(ben.who, 'POST /v1/me/links')
    const accepted = await world.call(NOBODY, 'POST /v1/invites/accept', { token: link.body.token })
    return { cookie: accepted.cookie ?? '' }
  }
  // Ben's first session goes on being used: it makes the links.
  const sessions: Credential[] = []
  for (let i = 0; i < SESSIONS_PER_PERSON_MAX; i++) {
    // A session counts as used once an hour at most.
    world.clock.nowS += 3600
    sessions.push(await signIn())
  }
  expect(await statusOf(sessions[0])).toBe(401)
  expect(await statusOf(sessions.at(-1))).toBe(200)
  expect(await statusOf(ben.who)).toBe(200)
  expect((await world.call(HOST, 'GET /v1/me')).status).toBe(200)
})
