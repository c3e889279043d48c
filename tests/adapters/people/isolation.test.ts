/**
 * Nothing crosses from one hangar to another. The test reads the OpenAPI document and makes every call it describes,
 * as everybody who must not: a new route is covered the moment it is served.
 */
import { env } from 'cloudflare:workers'
import { beforeAll, expect, test } from 'vitest'
import { readOperations, sampleBody, type Document, type Operation } from './document.ts'
import { operationByLine } from './operations.ts'
import { makeNeighbours, type Neighbours } from './neighbours.ts'
import { makeWorld, NOBODY, type Answer, type Credential, type World } from './world.ts'

let world: World
let document: Document
let two: Neighbours

beforeAll(async () => {
  world = await makeWorld()
  two = await makeNeighbours(world)
  document = (await world.call(NOBODY, 'GET /openapi.json')).body
})

/** Those whose credential stands for nobody: 401 on everything that is not public. */
const strangers = (): readonly [string, Credential][] => [
  ['nobody', NOBODY],
  ['a session signed out', two.signedOut],
  ['a session that never was', { cookie: `__Host-beadwatch=${'A'.repeat(43)}` }],
  ['a token revoked', two.revokedToken],
  ['a token expired', two.expiredToken],
  ['a token that never was', { bearer: `beadtoken_${'A'.repeat(43)}` }],
  ['a source key', two.sourceKey],
  ['an invite token', { bearer: two.inviteToken }],
  ['a session secret as a token', { bearer: two.sessionSecret }],
  ['a token as a session', { cookie: `__Host-beadwatch=${two.tokenSecret}` }],
  ['the host token as a session', { cookie: `__Host-beadwatch=${two.hostToken}` }],
]

/** Known people without any business in this hangar. */
const outsiders = (): readonly [string, Credential][] => [
  ["another hangar's keeper", two.otherKeeper],
  ["another hangar's watcher", two.otherWatcher],
  ["another hangar's keeper by a token to write", two.otherWriter],
  ["another hangar's keeper by a token to read", two.otherReader],
  ['a former member', two.former],
  ['a person without a hangar', two.loner],
]

/** A hub's own call is looked at apart: no person's credential opens it, and a key opens nothing else. */
const all = () => readOperations(document).filter(({ operation }) => operation['x-access'] !== 'source')
type Each = ReturnType<typeof all>[number]

/** With the real ids of this hangar's things, or with ids of the right form that nobody has. */
function lineWith(each: Each, ids: Readonly<Record<string, string>>): string {
  const path = each.path.replaceAll(/\{(\w+)\}/g, (_, name: string) => {
    const id = ids[name]
    if (id === undefined) throw new Error(`${each.line}: say in neighbours.ts what {${name}} is`)
    return id
  })
  return `${each.method} ${path}`
}

const leadsToHangar = ({ path }: Each) => /^\/v1\/\w+\/\{(hangar|rig|source|alert)\}/.test(path)
const isPublic = ({ operation }: { operation: Operation }) => operation['x-access'] === 'public'

/** The answer without what differs from request to request. */
function essence(answer: Answer): string {
  const body: unknown = answer.body === null ? answer.text : { ...answer.body, request: null }
  return JSON.stringify([answer.status, answer.headers.get('content-type'), body])
}

/** Every row of every table, without the marks of when somebody was last seen. */
async function everyRow(): Promise<string> {
  const { results: tables } = await env.DB.prepare(
    "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE '\\_%' ESCAPE '\\' AND name NOT LIKE 'sqlite%' AND name <> 'd1_migrations' ORDER BY name",
  ).all<{ name: string }>()
  const rows: string[] = []
  for (const { name } of tables) {
    const { results } = await env.DB.prepare(`SELECT * FROM "${name}"`).all()
    for (const row of results) rows.push(`${name} ${JSON.stringify({ ...row, seen_at_s: 0, used_at_s: 0 })}`)
  }
  return rows.join('\n')
}

const bodyOf = (each: Each) => two.bodies[each.line] ?? sampleBody(document, each.operation)

let calls = 0
async function make(who: Credential, each: Each, ids: Readonly<Record<string, string>>): Promise<Answer> {
  calls += 1
  return world.call(who, lineWith(each, ids), bodyOf(each))
}

test('a credential that stands for nobody opens nothing and changes nothing', async () => {
  const before = await everyRow()
  for (const each of all().filter((one) => !isPublic(one)))
    for (const [name, who] of strangers()) {
      const answer = await make(who, each, two.ids)
      expect([name, each.line, answer.status]).toEqual([name, each.line, 401])
      expect(essence(answer)).toBe(essence(await make(who, each, two.unknownIds)))
    }
  expect(await everyRow()).toBe(before)
})

test('what is not yours answers exactly like what is not there, and stays as it was', async () => {
  const before = await everyRow()
  for (const each of all().filter(leadsToHangar))
    for (const [name, who] of outsiders()) {
      const answer = await make(who, each, two.ids)
      const isReaderWriting = who === two.otherReader && each.operation['x-writes']
      const expected = each.operation['x-access'] === 'host' || isReaderWriting ? 403 : 404
      expect([name, each.line, answer.status]).toEqual([name, each.line, expected])
      expect(essence(answer)).toBe(essence(await make(who, each, two.unknownIds)))
    }
  expect(await everyRow()).toBe(before)
})

async function rowsOfOurs(): Promise<string[]> {
  return (await everyRow()).split('\n').filter((row) => two.marks.some((mark) => row.includes(mark)))
}

test("an outsider's own calls show nothing of this hangar and touch none of its rows", async () => {
  const before = await rowsOfOurs()
  const reads = all().filter(
    (one) => !leadsToHangar(one) && !isPublic(one) && one.operation['x-access'] !== 'host',
  )
  // Signing out everywhere would end the caller's own session before the rest is tried.
  const ordered = reads.toSorted((a, b) => Number(endsSession(a)) - Number(endsSession(b)))
  for (const each of ordered) {
    const answer = await make(two.otherKeeper, each, two.ids)
    const hasId = each.path.includes('{')
    if (!hasId) expect(answer.status, each.line).toBeLessThan(500)
    else expect([each.line, answer.status]).toEqual([each.line, 404])
    if (hasId) expect(essence(answer)).toBe(essence(await make(two.otherKeeper, each, two.unknownIds)))
    for (const mark of two.marks) expect(answer.text, each.line).not.toContain(mark)
    if (endsSession(each)) break
  }
  expect(await rowsOfOurs()).toEqual(before)
})

const endsSession = ({ line }: Each) =>
  ['DELETE /v1/me', 'DELETE /v1/sessions', 'POST /v1/sign-out'].includes(line)

test('only the host does what is for the host', async () => {
  const before = await everyRow()
  for (const each of all().filter(({ operation }) => operation['x-access'] === 'host'))
    for (const who of [two.keeper, two.watcher, two.writer, two.reader, two.loner]) {
      const answer = await make(who, each, two.ids)
      expect([each.line, answer.status]).toEqual([each.line, 403])
    }
  expect(await everyRow()).toBe(before)
})

test('a watcher looks and does not change; a token to read does not write; a token never signs in', async () => {
  const before = await everyRow()
  for (const each of all()) {
    const { operation } = each
    if (operation['x-access'] === 'keeper') {
      const answer = await make(two.watcher, each, two.ids)
      expect(['watcher', each.line, answer.status]).toEqual(['watcher', each.line, 403])
    }
    if (operation['x-writes'] && !isPublic(each)) {
      const answer = await make(two.reader, each, two.ids)
      expect(['reader', each.line, answer.status]).toEqual(['reader', each.line, 403])
    }
    if (!operation['x-by-token'] && !isPublic(each)) {
      const answer = await make(two.writer, each, two.ids)
      expect(['writer', each.line, answer.status]).toEqual(['writer', each.line, 403])
    }
  }
  expect(await everyRow()).toBe(before)
})

test('a page of another site changes nothing with the visitor’s cookie', async () => {
  const before = await everyRow()
  for (const each of all().filter(({ operation }) => operation['x-writes'])) {
    const line = lineWith(each, two.ids)
    const body = bodyOf(each)
    for (const origin of ['https://elsewhere.test', 'http://hangar.test', 'null']) {
      calls += 1
      const answer = await world.call(two.keeper, line, body, { origin })
      expect([origin, each.line, answer.status]).toEqual([origin, each.line, 403])
    }
  }
  expect(await everyRow()).toBe(before)
})

/** The answer is what the document says, no field more and none less. */
function expectAsDescribed(each: Each, answer: Answer): void {
  const described = operationByLine.get(each.line)
  if (described === undefined) throw new Error(`${each.line}: say in operations.ts where it is described`)
  if (described.answer === undefined) return
  const parsed = described.answer.safeParse(answer.body)
  expect([each.line, parsed.error?.issues ?? []]).toEqual([each.line, []])
  expect([each.line, parsed.data]).toEqual([each.line, answer.body])
}

/** What hangs on something else goes before it; the hangar last. */
const depth = ({ path }: Each) => (path === '/v1/hangars/{hangar}' ? -1 : path.split('/').length)

test('and those who may, may: the samples are good, so a refusal above was for the role alone', async () => {
  const mayFail = new Set(two.cannotSucceed)
  const order = ['GET', 'PUT', 'PATCH', 'POST', 'DELETE']
  const ordered = all()
    .filter((each) => !isPublic(each) && !endsSession(each))
    .toSorted((a, b) => order.indexOf(a.method) - order.indexOf(b.method) || depth(b) - depth(a))
  for (const each of ordered) {
    const who = each.operation['x-access'] === 'host' ? two.host : two.keeper
    const answer = await make(who, each, two.ids)
    const isGood = answer.status < 300 || mayFail.has(each.line)
    expect([each.line, isGood ? 'good' : answer.text]).toEqual([each.line, 'good'])
    expect([401, 403, 404], each.line).not.toContain(answer.status)
    if (answer.status < 300) expectAsDescribed(each, answer)
  }
})

test("a hub's call takes a live source key and nothing else", async () => {
  const hubs = readOperations(document).filter(({ operation }) => operation['x-access'] === 'source')
  expect(hubs.map(({ line }) => line)).toEqual(['POST /v1/readings'])
  const fresh = await makeNeighbours(world)
  const before = await everyRow()
  const people = [fresh.host, fresh.keeper, fresh.writer, fresh.otherKeeper, fresh.revokedToken, NOBODY]
  const keys = [{ bearer: `bead_${'a'.repeat(60)}` }, { bearer: fresh.inviteToken }]
  for (const who of [...people, ...keys]) {
    calls += 1
    expect((await world.call(who, 'POST /v1/readings', { humidity: 9 })).status).toBe(401)
  }
  expect(await everyRow()).toBe(before)
  expect((await world.call(fresh.sourceKey, 'POST /v1/readings', { humidity: 9 })).body.stored).toBe(1)
  await world.call(fresh.keeper, `DELETE /v1/sources/${fresh.ids.source}/keys/${fresh.ids['key']}`)
  expect((await world.call(fresh.sourceKey, 'POST /v1/readings', { humidity: 9 })).status).toBe(401)
})

test('the size of it', () => {
  const operations = all()
  console.log(`isolation: ${operations.length} operations, ${calls} calls refused or compared`)
  // No fewer than there were: a document that lost half of them would make every test above pass.
  expect(operations.length).toBeGreaterThanOrEqual(71)
  expect(calls).toBeGreaterThan(2000)
})
