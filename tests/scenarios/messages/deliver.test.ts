import { afterAll, beforeAll, beforeEach, describe, expect, test } from 'vitest'
import { BUDGETS } from '../../../src/core/limits.ts'
import { hangarIn, type Hangar } from './hangar.ts'
import { NOW_S, rows, startSweeps, type Sweeps } from './sweep.ts'

let s: Sweeps
let hangar: Hangar
beforeAll(async () => {
  s = await startSweeps()
})
afterAll(() => s.close())
beforeEach(async () => {
  await s.empty()
  hangar = hangarIn(s.db, s.service)
  await hangar.build(['ada', 'ben'], ['heron', 'marten', 'otter'])
})

const HOUR_S = 3600
const heron = { rig: 'heron', atS: NOW_S - 600 } as const

describe('who gets what', () => {
  test('every member with a device that wants the rig and the urgency, once', async () => {
    const all = await hangar.device('ada-phone')
    const onlyHeron = await hangar.device('ben-phone', { person: 'ben', rigs: ['heron'] })
    const nowOnly = await hangar.device('ben-watch', { person: 'ben', wants: { visit: false } })
    await hangar.raise(heron)
    await hangar.raise({ rig: 'marten', urgency: 'now', atS: NOW_S - 300 })
    await hangar.raise({ rig: 'otter', urgency: 'note', atS: NOW_S - 300 })
    await s.sweep(NOW_S)
    await s.sweep(NOW_S + 300)
    const got = s.look().map((one) => `${one.to} ${one.label}`)
    expect(got.toSorted()).toEqual(
      [
        `${all.name} now Rig marten`,
        `${all.name} visit Rig heron`,
        `${onlyHeron.name} visit Rig heron`,
        `${nowOnly.name} now Rig marten`,
      ].toSorted(),
    )
  })

  test('a note reaches the device that asks for notes', async () => {
    const asks = await hangar.device('ada-phone', { wants: { note: true } })
    await hangar.raise({ ...heron, urgency: 'note' })
    await s.sweep(NOW_S)
    expect(s.look()).toMatchObject([{ to: asks.name, label: 'note Rig heron' }])
  })

  test('another hangar hears nothing', async () => {
    const other = hangarIn(s.db, s.service, 'h2')
    await other.build(['cleo'], ['plover'])
    await other.device('cleo-phone', { person: 'cleo' })
    await hangar.raise(heron)
    await s.sweep(NOW_S)
    expect(s.look()).toEqual([])
  })

  test('who has left the hangar meanwhile hears nothing any more', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    await s.sweep(NOW_S, BUDGETS.paid, { send: null })
    await s.db.prepare("DELETE FROM member WHERE person = 'ada'").run()
    await s.sweep(NOW_S + 300)
    expect(s.look()).toEqual([])
    expect(await rows(s.db, 'SELECT * FROM delivery')).toEqual([])
  })
})

describe('one message per alert and change', () => {
  test('raised, more urgent, over: the same tag each time, and nothing is left', async () => {
    await hangar.device('ada-phone')
    const alert = await hangar.raise(heron)
    await s.sweep(NOW_S)
    await hangar.change(heron, 'now', NOW_S + 300)
    await s.sweep(NOW_S + 300)
    await hangar.end({ ...heron, urgency: 'now' }, NOW_S + 600)
    await s.sweep(NOW_S + 600)
    await s.sweep(NOW_S + 900)
    const got = s.look()
    expect(got.map((one) => one.label)).toEqual(['visit Rig heron', 'now Rig heron', 'over Rig heron'])
    expect(new Set(got.map((one) => one.tag))).toEqual(new Set([alert]))
    expect(await rows(s.db, "SELECT * FROM delivery WHERE state <> 'waiting'")).toEqual([])
  })

  test('an end that late readings date before the change is the last word all the same', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    await s.sweep(NOW_S)
    await hangar.change(heron, 'now', NOW_S + 600)
    await s.sweep(NOW_S + 600)
    s.look()
    await hangar.end({ ...heron, urgency: 'now' }, NOW_S + 300)
    await s.sweep(NOW_S + 900)
    expect(s.look().map((one) => one.label)).toEqual(['over Rig heron'])
  })

  test('what began and ended before it could be said is not said', async () => {
    await hangar.device('ada-phone', { quiet: { fromMin: 11 * 60, toMin: 14 * 60 } })
    await hangar.raise(heron)
    await s.sweep(NOW_S)
    await hangar.end(heron, NOW_S + HOUR_S)
    await s.sweep(NOW_S + HOUR_S)
    await s.sweep(NOW_S + 3 * HOUR_S)
    expect(s.look()).toEqual([])
    expect(await rows(s.db, 'SELECT * FROM delivery')).toEqual([])
  })

  test('a change during the quiet hours is said once, as it stands in the morning', async () => {
    await hangar.device('ada-phone', { quiet: { fromMin: 11 * 60, toMin: 14 * 60, forNow: true } })
    await hangar.raise(heron)
    await s.sweep(NOW_S)
    await hangar.change(heron, 'now', NOW_S + HOUR_S)
    await s.sweep(NOW_S + HOUR_S)
    expect(s.look()).toEqual([])
    await s.sweep(NOW_S + 2 * HOUR_S)
    expect(s.look().map((one) => one.label)).toEqual(['now Rig heron'])
  })

  test('now is said in the quiet hours unless the owner chose otherwise', async () => {
    await hangar.device('ada-phone', { quiet: { fromMin: 11 * 60, toMin: 14 * 60 } })
    await hangar.raise({ ...heron, urgency: 'now' })
    await s.sweep(NOW_S)
    expect(s.look()).toHaveLength(1)
  })

  test('an event found in the past by a rewind is not said', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    await s.db.prepare('UPDATE alert_event SET is_past = 1').run()
    await s.sweep(NOW_S)
    expect(s.look()).toEqual([])
  })
})

test('a rig that is catching up says nothing until it is even, and then only what still holds', async () => {
  await hangar.device('ada-phone')
  await s.db
    .prepare('UPDATE memory SET grid_s = ?1')
    .bind(NOW_S - 40 * 86_400)
    .run()
  await hangar.raise({ rig: 'heron', atS: NOW_S - 40 * 86_400 })
  await hangar.raise({ rig: 'marten', atS: NOW_S - 40 * 86_400 })
  await s.sweep(NOW_S)
  await hangar.end({ rig: 'heron', atS: NOW_S - 40 * 86_400 }, NOW_S - 30 * 86_400)
  await s.sweep(NOW_S)
  expect(s.look()).toEqual([])
  await s.db
    .prepare('UPDATE memory SET grid_s = ?1')
    .bind(NOW_S - 600)
    .run()
  await s.sweep(NOW_S)
  expect(s.look().map((one) => one.label)).toEqual(['visit Rig marten'])
})

describe('reminders of an alert now', () => {
  test('every six hours, three times, until somebody has seen it', async () => {
    await hangar.device('ada-phone')
    await hangar.raise({ ...heron, urgency: 'now' })
    for (let hour = 0; hour <= 40; hour += 1) await s.sweep(NOW_S + hour * HOUR_S)
    const got = s.look()
    expect(got.map((one) => one.label)).toEqual([
      'now Rig heron',
      'again Rig heron',
      'again Rig heron',
      'again Rig heron',
    ])
    expect(new Set(got.map((one) => one.tag)).size).toBe(1)
  })

  test('none once it is seen, none for a visit', async () => {
    await hangar.device('ada-phone')
    await hangar.raise({ ...heron, urgency: 'now' })
    await hangar.raise({ rig: 'marten', atS: NOW_S - 300 })
    await s.sweep(NOW_S)
    await s.db.prepare('UPDATE alert SET seen_at_s = 1').run()
    s.look()
    for (let hour = 1; hour <= 20; hour += 1) await s.sweep(NOW_S + hour * HOUR_S)
    expect(s.look()).toEqual([])
  })
})

const silent = (rig: string, atS: number) => ({ rig, rule: 'silent', atS })

describe('silence', () => {
  test('several rigs of a hangar within a quarter of an hour are one message', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(silent('heron', NOW_S))
    await s.sweep(NOW_S)
    await hangar.raise(silent('marten', NOW_S + 300))
    await hangar.raise(silent('otter', NOW_S + 600))
    await s.sweep(NOW_S + 300)
    await s.sweep(NOW_S + 600)
    expect(s.look()).toEqual([])
    for (let atS = NOW_S + 900; atS <= NOW_S + 2400; atS += 300) await s.sweep(atS)
    const got = s.look()
    expect(got[0]).toMatchObject({ title: 'Row h1: 3 rigs are not heard', tag: 'silent-h1' })
    expect(got[0]?.body).toContain('Rig heron (since Wed 12:00), Rig marten (since Wed 12:05)')
    expect(got).toHaveLength(1)
  })

  test('when one is heard again the message says who still is not', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(silent('heron', NOW_S))
    await hangar.raise(silent('otter', NOW_S))
    await s.sweep(NOW_S)
    await s.sweep(NOW_S + 900)
    s.look()
    await hangar.end(silent('otter', NOW_S), NOW_S + 1200)
    await s.sweep(NOW_S + 1200)
    expect(s.look()).toMatchObject([
      {
        title: 'Row h1: a rig is not heard',
        body: 'Heard again: Rig otter. Not heard: Rig heron (since Wed 12:00). On your next visit.',
      },
    ])
    await hangar.end(silent('heron', NOW_S), NOW_S + 1500)
    await s.sweep(NOW_S + 1500)
    expect(s.look()).toMatchObject([{ title: 'Row h1: heard again', tag: 'silent-h1' }])
    expect(await rows(s.db, 'SELECT * FROM delivery')).toEqual([])
  })
})

describe('when the push service fails', () => {
  test('500, then well: tried again after the back-off, once', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    s.service.fail(() => ({ status: 500 }))
    await s.sweep(NOW_S)
    expect(await rows(s.db, 'SELECT failure, failed_at_s FROM device')).toEqual([
      { failure: 'server-error', failed_at_s: NOW_S },
    ])
    s.service.fail(() => null)
    await s.sweep(NOW_S + 30)
    expect(s.look()).toEqual([])
    await s.sweep(NOW_S + 60)
    await s.sweep(NOW_S + 360)
    expect(s.look()).toHaveLength(1)
    expect(await rows(s.db, 'SELECT failure, failed_at_s, reached_at_s FROM device')).toEqual([
      { failure: null, failed_at_s: null, reached_at_s: NOW_S + 60 },
    ])
    expect(await rows(s.db, 'SELECT what, times FROM tally')).toEqual([
      { what: 'push-server-error', times: 1 },
    ])
  })

  test('429 with Retry-After is not undercut', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    s.service.fail(() => ({ status: 429, headers: { 'Retry-After': '1800' } }))
    await s.sweep(NOW_S)
    s.service.fail(() => null)
    for (let atS = NOW_S + 300; atS < NOW_S + 1800; atS += 300) await s.sweep(atS)
    expect(s.look()).toEqual([])
    await s.sweep(NOW_S + 2100)
    expect(s.look()).toHaveLength(1)
  })

  test.each([404, 410])('%i deletes the subscription and keeps the choices', async (status) => {
    await hangar.device('ada-phone', { rigs: ['heron'] })
    await hangar.raise(heron)
    s.service.fail(() => ({ status }))
    await s.sweep(NOW_S)
    expect(await rows(s.db, 'SELECT endpoint, p256dh, auth, rigs, ended_at_s, failure FROM device')).toEqual([
      { endpoint: null, p256dh: null, auth: null, rigs: '["heron"]', ended_at_s: NOW_S, failure: 'gone' },
    ])
    expect(await rows(s.db, "SELECT * FROM delivery WHERE state = 'waiting'")).toEqual([])
  })

  test.each([401, 403])(
    '%i keeps the subscription, is counted for the host, and is tried again',
    async (status) => {
      await hangar.device('ada-phone')
      await hangar.raise(heron)
      s.service.fail(() => ({ status }))
      await s.sweep(NOW_S)
      const [device] = await rows(s.db, 'SELECT endpoint, failure FROM device')
      expect(device).toMatchObject({ failure: `refused-${status}` })
      expect(device?.endpoint).not.toBeNull()
      expect(await rows(s.db, 'SELECT what FROM tally')).toEqual([{ what: `push-refused-${status}` }])
      s.service.fail(() => null)
      await s.sweep(NOW_S + 600)
      expect(s.look()).toHaveLength(1)
    },
  )

  test('413 is said shorter, and given up if that is too long as well', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    const long = { words: () => ({ title: 'Heron', body: 'x'.repeat(5000) }) }
    s.service.fail(({ nth }) => (nth > 0 ? { status: 413 } : null))
    await s.sweep(NOW_S, BUDGETS.paid, long)
    s.service.fail(() => null)
    await s.sweep(NOW_S + 600, BUDGETS.paid, long)
    const [one] = s.service.received
    expect(one?.bytes).toBeLessThan(600 + 104)
    s.look()
    await hangar.raise({ rig: 'marten', atS: NOW_S })
    s.service.fail(() => ({ status: 413 }))
    for (let atS = NOW_S + 900; atS < NOW_S + 9000; atS += 900) await s.sweep(atS, BUDGETS.paid, long)
    expect(await rows(s.db, "SELECT state, why FROM delivery WHERE rig = 'marten'")).toEqual([
      { state: 'dropped', why: 'too-large' },
    ])
  })

  test('a new subscription made while the old one was being written to stays', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    s.service.fail(() => ({ status: 410 }))
    await s.sweep(NOW_S, BUDGETS.paid, {
      outbox: {
        ...s.ports.outbox,
        settle: async (...all) => {
          await s.db.prepare("UPDATE device SET endpoint = 'https://new'").run()
          await s.ports.outbox.settle(...all)
        },
      },
    })
    expect(await rows(s.db, 'SELECT endpoint FROM device')).toEqual([{ endpoint: 'https://new' }])
  })
})

describe('two at once, and a death in the middle', () => {
  test('two sweeps at the same second: one message', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    await Promise.all([s.sweep(NOW_S), s.sweep(NOW_S), s.sweep(NOW_S)])
    expect(s.look()).toHaveLength(1)
  })

  test('a death between handing over and marking adds nothing twice', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    const book = s.ports.shards.get(0)
    if (!book) throw new Error('no shard')
    const dying = new Map([[0, { ...book, markTold: () => Promise.reject(new Error('killed')) }]])
    await expect(s.sweep(NOW_S, BUDGETS.paid, { shards: dying })).rejects.toThrow('killed')
    await s.sweep(NOW_S)
    await s.sweep(NOW_S + 300)
    expect(s.look()).toHaveLength(1)
  })

  test('a death after sending sends again when the claim has run out, with the same tag and id', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    const dying = { ...s.ports.outbox, settle: () => Promise.reject(new Error('killed')) }
    await expect(s.sweep(NOW_S, BUDGETS.paid, { outbox: dying })).rejects.toThrow('killed')
    await s.sweep(NOW_S + 200)
    expect(s.look()).toHaveLength(1)
    await s.sweep(NOW_S + 300)
    const again = s.look()
    expect(again).toMatchObject([
      { tag: 'heron-no-drop-1795607400', id: 'heron-no-drop-1795607400/raised/1795607400' },
    ])
  })

  test('over after such a death is said: the phone may have shown the beginning', async () => {
    await hangar.device('ada-phone')
    await hangar.raise(heron)
    const dying = { ...s.ports.outbox, settle: () => Promise.reject(new Error('killed')) }
    await expect(s.sweep(NOW_S, BUDGETS.paid, { outbox: dying })).rejects.toThrow('killed')
    s.look()
    await hangar.end(heron, NOW_S + 300)
    await s.sweep(NOW_S + 300)
    expect(s.look()).toMatchObject([{ label: 'over Rig heron' }])
  })
})

test('once a day what belongs to nobody any more goes, and nothing else', async () => {
  await hangar.device('ada-phone')
  await hangar.device('ben-phone', { person: 'ben' })
  await hangar.device('ben-watch', { person: 'ben' })
  await hangar.raise(heron)
  await s.sweep(NOW_S)
  await s.db.prepare("DELETE FROM device WHERE id = 'ben-watch'").run()
  await s.db.prepare("DELETE FROM member WHERE person = 'ada'").run()
  await s.ports.outbox.tidy(NOW_S)
  expect(await rows(s.db, 'SELECT device FROM delivery')).toEqual([{ device: 'ben-phone' }])
  await s.ports.outbox.tidy(NOW_S + 401 * 86_400)
  expect(await rows(s.db, 'SELECT device FROM delivery')).toEqual([])
})

describe('budget', () => {
  test('the free plan sends five in one invocation, now first, and says that more is due', async () => {
    await hangar.device('ada-phone')
    for (let n = 0; n < 6; n += 1) await hangar.raise({ rig: 'heron', atS: NOW_S - 9000 + n * 300 })
    await hangar.raise({ rig: 'marten', urgency: 'now', atS: NOW_S - 300 })
    const first = await s.sweep(NOW_S, BUDGETS.free)
    expect(first).toMatchObject({ told: 7, sent: 5, hasMore: true })
    expect(s.look().map((one) => one.label)).toContain('now Rig marten')
    const second = await s.sweep(NOW_S, BUDGETS.free)
    expect(second).toMatchObject({ sent: 2, hasMore: false })
  })
})
