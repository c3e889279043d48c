/** From readings to messages through the whole schedule, with a schedule that misbehaves. */
import { env } from 'cloudflare:workers'
import { describe, expect, test } from 'vitest'
import { alertBook } from '../../../src/adapters/d1/alert-book.ts'
import { outbox } from '../../../src/adapters/d1/deliveries.ts'
import { BUDGETS } from '../../../src/core/limits.ts'
import type { Message } from '../../../src/core/messages/message.ts'
import { pushWords } from '../../../src/core/words/alert-words.ts'
import { deliver } from '../../../src/flows/deliver.ts'
import { runSchedule } from '../../../src/wire-schedule.ts'
import { feed, makeCheckWorld, type CheckWorld } from '../store/check-world.ts'
import { sawTooth } from '../store/saw-tooth.ts'
import { START_S } from '../store/store-world.ts'

const DAY_S = 86_400
const NOON_S = START_S - (START_S % DAY_S) + DAY_S / 2

async function makeMessageWorld() {
  const world = await makeCheckWorld()
  await addPhone(world)
  const messages: Message[] = []
  const ports = {
    outbox: outbox(env.DB),
    shards: new Map([[0, alertBook(env.DB)]]),
    send: ({ message }: { message: Message }) => {
      messages.push(message)
      return Promise.resolve({ kind: 'answered', status: 201, retryAfterS: null } as const)
    },
    words: pushWords,
    draw: () => 0.5,
  }
  const tick = (atS: number) =>
    runSchedule(
      {
        checks: world.checkPorts(),
        budgets: BUDGETS.paid,
        log: (line) => void world.log.push(JSON.stringify(line)),
        sendMessages: () => Promise.resolve(),
        after: [['messages', (nowS) => deliver(ports, nowS, BUDGETS.paid)]],
      },
      atS,
    )
  return { ...world, messages, tickAll: tick }
}

/** A phone of somebody in the rig's hangar that wants everything urgent. */
async function addPhone(world: CheckWorld): Promise<void> {
  const hangar = await env.DB.prepare('SELECT hangar FROM rig WHERE public_id = ?1')
    .bind(world.rigs[0]?.id ?? '')
    .first<string>('hangar')
  const person = `person-of-${hangar}`
  await env.DB.batch([
    env.DB.prepare(
      "INSERT INTO hangar (id, name, made_at_s) VALUES (?1, 'Row', 0) ON CONFLICT DO NOTHING",
    ).bind(hangar),
    env.DB.prepare("INSERT INTO person (id, name, zone, made_at_s) VALUES (?1, 'Mira', 'UTC', 0)").bind(
      person,
    ),
    env.DB.prepare("INSERT INTO member (hangar, person, role, since_s) VALUES (?1, ?2, 'watcher', 0)").bind(
      hangar,
      person,
    ),
    env.DB.prepare(
      `INSERT INTO device (id, person, name, origin, endpoint, p256dh, auth, made_at_s)
       VALUES (?1, ?2, 'phone', 'https://dry.example', ?1, 'p', 'a', 0)`,
    ).bind(`phone-of-${person}`, person),
  ])
}

const deadFrom = (days: number) =>
  sawTooth({ fromS: NOON_S - 10 * DAY_S, toS: NOON_S, deadFromS: NOON_S - days * DAY_S })

const aboutPump = (messages: readonly Message[]) => messages.filter(({ tag }) => !tag.startsWith('silent'))
const raised = (messages: readonly Message[]) =>
  aboutPump(messages).filter(({ id }) => id.includes('/raised/'))

describe('one fault, one message', () => {
  test('the schedule fires twice at once, every time', async () => {
    const world = await makeMessageWorld()
    world.clock.nowS = NOON_S
    await feed(world, deadFrom(2))
    for (let atS = NOON_S; atS <= NOON_S + 1800; atS += 300) {
      await Promise.all([world.tickAll(atS), world.tickAll(atS)])
    }
    expect(raised(world.messages)).toHaveLength(1)
    expect(raised(world.messages)[0]?.title).toBe('kestrel: pump on, air not getting drier')
  })

  test('the schedule is missed for a day: one message at the first tick after, with the time it began', async () => {
    const world = await makeMessageWorld()
    const records = deadFrom(1)
    world.clock.nowS = NOON_S - DAY_S
    await feed(
      world,
      records.filter(({ at }) => at < NOON_S - DAY_S),
    )
    for (let atS = NOON_S - DAY_S; atS < NOON_S - DAY_S + 900; atS += 300) await world.tickAll(atS)
    expect(world.messages).toEqual([])
    world.clock.nowS = NOON_S
    await feed(
      world,
      records.filter(({ at }) => at >= NOON_S - DAY_S),
    )
    for (let atS = NOON_S; atS < NOON_S + 900; atS += 300) await world.tickAll(atS)
    expect(raised(world.messages)).toHaveLength(1)
    const since = await env.DB.prepare(
      "SELECT a.since_s FROM alert a JOIN rig r ON r.rig_id = a.rig_id WHERE r.public_id = ?1 AND a.rule = 'no-drop'",
    )
      .bind(world.rigs[0]?.id ?? '')
      .first<number>('since_s')
    expect(since).toBeGreaterThan(NOON_S - DAY_S - 3600)
    expect(since).toBeLessThan(NOON_S - 6 * 3600)
  })

  test('the clock steps an hour back, then six hours ahead and back again', async () => {
    const world = await makeMessageWorld()
    world.clock.nowS = NOON_S
    await feed(world, deadFrom(2))
    const steps = [0, 300, 600, -3600, -3300, 900, 6 * 3600, 1200, 1500, 1800]
    for (const step of steps) await world.tickAll(NOON_S + step)
    expect(raised(world.messages)).toHaveLength(1)
  })

  test('pumping again is said once', async () => {
    const world = await makeMessageWorld()
    world.clock.nowS = NOON_S
    await feed(world, deadFrom(2))
    await world.tickAll(NOON_S)
    expect(raised(world.messages)).toHaveLength(1)
    const laterS = NOON_S + 4 * DAY_S
    world.clock.nowS = laterS
    await feed(world, sawTooth({ fromS: NOON_S, toS: laterS }))
    for (let atS = laterS; atS < laterS + 1800; atS += 300) await world.tickAll(atS)
    const over = world.messages.filter(({ id }) => id.includes('/over/'))
    expect(over).toHaveLength(1)
    expect(over[0]).toMatchObject({ urgency: 'over', tag: raised(world.messages)[0]?.tag })
  })
})
