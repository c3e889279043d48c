/** Two hangars that must not see each other, with one of everything in the first, and everybody who might ask. */
import { env } from 'cloudflare:workers'
import { HOST, HOST_TOKEN, NOBODY, type Credential, type World } from './world.ts'

export type Neighbours = Awaited<ReturnType<typeof makeNeighbours>>

/** Of the form of an id, and nobody's. */
const UNKNOWN = 'aa'.padEnd(26, 'b')

export async function makeNeighbours(world: World) {
  const { call } = world
  const [hangar, other] = [await world.hangar('sample'), await world.hangar('Other row')]
  const keeper = await world.join(hangar, 'keeper', 'Keeper of ours')
  const second = await world.join(hangar, 'keeper', 'Second keeper of ours')
  const watcher = await world.join(hangar, 'watcher', 'Watcher of ours')
  const former = await world.join(hangar, 'watcher', 'Former member')
  await call(former.who, `DELETE /v1/hangars/${hangar}/members/${former.id}`)
  const otherKeeper = await world.join(other, 'keeper', 'Keeper of theirs')
  const otherWatcher = await world.join(other, 'watcher', 'Watcher of theirs')
  const loner = await world.join(other, 'watcher', 'Loner')
  await call(loner.who, `DELETE /v1/hangars/${other}/members/${loner.id}`)

  const invite = await call(keeper.who, `POST /v1/hangars/${hangar}/invites`, { role: 'watcher' })
  const token = await call(keeper.who, 'POST /v1/tokens', { name: 'ours', may: 'write' })
  const revoked = await call(keeper.who, 'POST /v1/tokens', { name: 'revoked', may: 'write' })
  await call(keeper.who, `DELETE /v1/tokens/${revoked.body.id}`)
  const short = await call(keeper.who, 'POST /v1/tokens', { name: 'short', may: 'write', lifeS: 60 })
  const credentials = {
    host: HOST,
    keeper: keeper.who,
    watcher: watcher.who,
    writer: await world.token(keeper.who, 'write'),
    reader: await world.token(keeper.who, 'read'),
    former: former.who,
    loner: loner.who,
    otherKeeper: otherKeeper.who,
    otherWatcher: otherWatcher.who,
    otherWriter: await world.token(otherKeeper.who, 'write'),
    otherReader: await world.token(otherKeeper.who, 'read'),
    signedOut: await signedOut(world, keeper.who),
    revokedToken: { bearer: String(revoked.body.token) },
    expiredToken: { bearer: String(short.body.token) },
  } satisfies Record<string, Credential>
  const device = await anotherDevice(world, keeper.who)
  const sessions = await call(keeper.who, 'GET /v1/sessions')
  world.clock.nowS += 120

  const things = await hangarThings(world, hangar, keeper.who)
  const ids = {
    hangar,
    member: watcher.id,
    invite: String(invite.body.id),
    session: sessions.body.items.find(({ isThis }: { isThis: boolean }) => !isThis).id,
    token: String(token.body.id),
    passkey: await passkeyOf(keeper.id),
    device: await phoneOf(keeper.id),
    ...things.ids,
  }
  const unknownIds = Object.fromEntries(Object.keys(ids).map((name) => [name, UNKNOWN]))
  return {
    ...credentials,
    ids: { ...ids },
    unknownIds,
    sourceKey: things.sourceKey,
    inviteToken: String(invite.body.token),
    sessionSecret: device.slice(device.indexOf('=') + 1),
    tokenSecret: String(token.body.token),
    hostToken: HOST_TOKEN,
    /** What stands in rows and answers about our hangar, and nowhere else. */
    marks: [hangar, keeper.id, second.id, watcher.id, 'of ours', ...Object.values(ids).slice(2)],
    /** Where a made-up body cannot be right: it speaks of things that exist. */
    bodies: {
      'POST /v1/invites': { hangars: [{ hangar, role: 'watcher' }] },
      'POST /v1/devices': { subscription: { endpoint: 'http://127.0.0.1:9/sample', keys: BROWSER_KEYS } },
      'PATCH /v1/devices/{device}': { name: 'sample' },
      // So that the kept post below can be read again.
      'PUT /v1/sources/{source}/recipe': { recipe: null },
    } as Readonly<Record<string, unknown>>,
    /** Their sample cannot be right: a signature, or a name typed by a person. */
    cannotSucceed: ['POST /v1/passkeys'],
  }
}

/** Only a browser makes a real one; here its row is enough. */
async function passkeyOf(person: string): Promise<string> {
  const id = `passkey-${person}`
  await env.DB.prepare(
    "INSERT INTO passkey (id, person, public_key, counter, transports, name, made_at_s) VALUES (?1, ?2, x'00', 0, '[]', 'Phone', 1)",
  )
    .bind(id, person)
    .run()
  return id
}

/** Of a browser that was made up: the key of RFC 8291, Appendix A. */
const BROWSER_KEYS = {
  p256dh: 'BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4',
  auth: 'BTBZMqHH6r4Tts7J_aSIgg',
} as const

async function phoneOf(person: string): Promise<string> {
  const id = `device-${person}`
  await env.DB.prepare(
    `INSERT INTO device (id, person, name, origin, endpoint, p256dh, auth, made_at_s)
     VALUES (?1, ?2, 'Phone of ours', 'https://hangar.test', ?3, ?4, ?5, 1)`,
  )
    .bind(id, person, `http://127.0.0.1:9/${id}`, BROWSER_KEYS.p256dh, BROWSER_KEYS.auth)
    .run()
  return id
}

async function signedOut(world: World, who: Credential): Promise<Credential> {
  const cookie = await anotherDevice(world, who)
  await world.call({ cookie }, 'POST /v1/sign-out')
  return { cookie }
}

async function anotherDevice(world: World, who: Credential): Promise<string> {
  const link = await world.call(who, 'POST /v1/me/links')
  return (await world.call(NOBODY, 'POST /v1/invites/accept', { token: link.body.token })).cookie ?? ''
}

/** The analysis alone raises alerts; here its row is enough. */
async function alertOf(rig: string): Promise<string> {
  const id = `aa${rig.slice(2).replace(/./, 'z')}`
  await env.DB.prepare(
    `INSERT INTO alert (public_id, rig_id, rule, raised_at_s, since_s, urgency, evidence)
     SELECT ?1, rig_id, 'silent', 1789990000, 1789990000, 'visit', '{"heardAtS":1789990000}' FROM rig WHERE public_id = ?2`,
  )
    .bind(id, rig)
    .run()
  return id
}

/** Things of a hangar that routes may name. Each new name in a path needs its line here, or the test says so. */
async function hangarThings(world: World, hangar: string, keeper: Credential) {
  const { call } = world
  const settings = { band: { start: 15, stop: 6 } }
  const body = { name: 'sample', slug: 'rig-of-ours', settings }
  const rig = await call(keeper, `POST /v1/hangars/${hangar}/rigs`, body)
  const source = await call(keeper, `POST /v1/hangars/${hangar}/sources`, {
    name: 'Hub of ours',
    rigs: [body.slug],
  })
  const key = await call(keeper, `POST /v1/sources/${source.body.id}/keys`)
  const log = await call(keeper, `POST /v1/rigs/${rig.body.id}/logbook`, {
    at: '2026-08-01T10:00:00Z',
    what: 'note',
    detail: { text: 'Note of ours' },
  })
  // A word for a value is set aside, so the post is kept.
  await call({ bearer: String(key.body.key) }, 'POST /v1/readings', { humidity: 'dry', pump: true })
  const posts = await call(keeper, `GET /v1/sources/${source.body.id}/posts`)
  return {
    ids: {
      post: String(posts.body.items[0].id),
      rig: String(rig.body.id),
      source: String(source.body.id),
      key: String(key.body.id),
      entry: String(log.body.id),
      alert: await alertOf(String(rig.body.id)),
    },
    sourceKey: { bearer: String(key.body.key) } satisfies Credential,
  }
}
