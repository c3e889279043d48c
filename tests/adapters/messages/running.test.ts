/** What a host sees of the messages, and how a sweep goes on when there is more to send than one invocation may. */
import { env } from 'cloudflare:workers'
import { beforeAll, expect, test } from 'vitest'
import { addTally } from '../../../src/adapters/d1/tally.ts'
import { BUDGETS } from '../../../src/core/limits.ts'
import { runQueue } from '../../../src/wire-schedule.ts'
import { sweeps, type SweepOf } from '../../../src/wire-messages.ts'
import { HOST, makeWorld, type World } from '../people/world.ts'

let world: World
beforeAll(async () => {
  world = await makeWorld()
})

const wait = (device: string, dueAtS: number) =>
  env.DB.prepare(
    `INSERT INTO delivery (alert, device, at_s, kind, hangar, rig, rule, urgency, rank, state, due_at_s, made_at_s)
     VALUES ('a', ?1, 1, 'raised', 'h', 'r', 'no-drop', 'now', 0, 'waiting', ?2, 1)`,
  )
    .bind(device, dueAtS)
    .run()

test('the host sees what waits, what is overdue, who refuses, and what went wrong; nobody else does', async () => {
  const { nowS } = world.clock
  await wait('d1', nowS - 60)
  await wait('d2', nowS - 7200)
  await env.DB.batch([
    env.DB.prepare("INSERT INTO person (id, name, made_at_s) VALUES ('p', 'Mira', 0)"),
    env.DB.prepare(
      "INSERT INTO device (id, person, name, origin, made_at_s, failure) VALUES ('d', 'p', 'x', '', 0, 'refused-403')",
    ),
  ])
  await addTally(env.DB, 'push-busy', nowS)
  await addTally(env.DB, 'push-busy', nowS - 86_400)
  await addTally(env.DB, 'push-busy', nowS - 3 * 86_400)
  const { body } = await world.call(HOST, 'GET /healthz')
  expect(body.host).toMatchObject({
    deliveriesWaiting: 2,
    deliveriesOverdue: 1,
    devicesRefused: 1,
    errors: { 'push-busy': 2 },
  })
  expect((await world.call({}, 'GET /healthz')).body).not.toHaveProperty('host')
})

test('counts of long ago go', async () => {
  const { nowS } = world.clock
  await addTally(env.DB, 'push-busy', nowS - 200 * 86_400)
  await addTally(env.DB, 'push-busy', nowS)
  const { results } = await env.DB.prepare('SELECT min(day_s) AS day FROM tally').all<{ day: number }>()
  expect(results[0]?.day).toBeGreaterThan(nowS - 91 * 86_400)
})

test('more than one invocation may send goes on by the queue, until nothing is left or the tick has had its share', async () => {
  await env.DB.prepare('DELETE FROM delivery').run()
  for (let n = 0; n < 45; n += 1) await wait(`gone-${n}`, 1)
  const sent: unknown[] = []
  const log: unknown[] = []
  const sweep = sweeps({
    databases: [env.DB],
    push: { publicKey: '', hasContact: true, rules: { addedHosts: [], testOrigin: null }, send: none },
    budgets: BUDGETS.free,
    log: (line) => void log.push(line),
    queue: { send: (body) => keep(sent, body) },
  })
  await sweep({ scheduledS: 3600, nth: 0 })
  expect(sent).toEqual([{ kind: 'messages', scheduledS: 3600, nth: 1 }])
  expect(log).toEqual([{ event: 'messages', told: 0, sent: 0, failed: 0, dropped: 40, hasMore: true }])
  await sweep({ scheduledS: 3600, nth: 1 })
  expect(sent).toHaveLength(1)
  for (let n = 0; n < 45; n += 1) await wait(`gone-${n}`, 1)
  await sweep({ scheduledS: 3600, nth: 60 })
  expect(sent).toHaveLength(1)
})

// oxlint-disable-next-line typescript/no-unsafe-type-assertion -- nobody reads what the queue answers
const keep = (sent: unknown[], body: unknown) => Promise.resolve(void sent.push(body)) as never
const none = () => Promise.reject(new Error('nothing is to be sent'))

test('a queue message leads to a sweep, and one that cannot be read is thrown away with a line', async () => {
  const swept: SweepOf[] = []
  const log: unknown[] = []
  const acked: string[] = []
  const message = (name: string, body: unknown) => ({
    body,
    attempts: 1,
    ack: () => void acked.push(name),
    retry: () => undefined,
  })
  const work = {
    sendMessages: (sweep: SweepOf) => Promise.resolve(void swept.push(sweep)),
    log: (line: unknown) => void log.push(line),
  }
  const messages = [
    message('good', { kind: 'messages', scheduledS: 300, nth: 2 }),
    message('bad', { kind: 'messages', scheduledS: 'soon' }),
  ]
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- the rest of the work is not asked for
  await runQueue(work as never, { queue: 'beadwatch-work', messages })
  expect(swept).toMatchObject([{ scheduledS: 300, nth: 2 }])
  expect(acked).toEqual(['good', 'bad'])
  expect(log).toHaveLength(1)
})
