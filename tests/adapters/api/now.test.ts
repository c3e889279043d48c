/** From posts over the schedule to what a person reads: sentences, alerts, cycles, hours. */
import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
import { timeText } from '../../../src/flows/time-text.ts'
import { openSchedule } from '../../../src/wire.ts'
import { runSchedule } from '../../../src/wire-schedule.ts'
import { operationByLine } from '../people/operations.ts'
import { makeWorld, type Credential, type World } from '../people/world.ts'

const HOUR_S = 3600
const DAY_S = 86_400

let world: World
let keeper: Credential
let rig: string
let startS: number

/** A week of a saw-tooth between 6 and 15 %: eight hours of rest, then a run of forty minutes with a surge at its start. */
function week(): object[] {
  return Array.from({ length: (7 * DAY_S) / 600 }, (_, index) => {
    const minutes = (index * 10) % 520
    const isRun = minutes >= 480
    const humidity = isRun ? [17, 11, 8, 6.2][(minutes - 480) / 10] : 6 + (9 * minutes) / 480
    return {
      at: new Date((startS + index * 600) * 1000).toISOString(),
      humidity: Math.round((humidity ?? 6) * 100) / 100,
      temperature: 15,
      pump: isRun,
    }
  })
}

async function tickUntilEven(nowS: number): Promise<void> {
  const work = openSchedule(env)
  for (let step = 0; step < 12; step++) await runSchedule(work, nowS)
}

beforeAll(async () => {
  world = await makeWorld()
  startS = world.clock.nowS - (world.clock.nowS % DAY_S) - 7 * DAY_S
  const hangar = await world.hangar('Sparrow Meadow')
  keeper = (await world.join(hangar, 'keeper', 'Mira')).who
  const settings = { band: { start: 15, stop: 6 }, beadMassG: 2000, volumeL: 45, flowLPerMin: 2.5 }
  rig = (await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, { name: 'One', slug: 'one', settings }))
    .body.id
  const source = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, {
    name: 'Hub',
    rigs: ['one'],
  })
  const key = (await world.call(keeper, `POST /v1/sources/${source.body.id}/keys`)).body.key
  const readings = week()
  for (let from = 0; from < readings.length; from += 500)
    await world.call({ bearer: key }, 'POST /v1/readings', readings.slice(from, from + 500))
  world.clock.nowS = startS + 7 * DAY_S + 5 * HOUR_S
  await tickUntilEven(world.clock.nowS)
})

async function read(line: string, query = '') {
  const answer = await world.call(keeper, `${line.replace('{rig}', rig)}${query}`)
  const schema = operationByLine.get(line)?.answer
  expect(answer.status).toBe(200)
  expect(schema?.parse(answer.body)).toEqual(answer.body)
  return answer.body
}

const hoursOf = async (fromS?: number, toS?: number) => {
  const span = fromS === undefined || toS === undefined ? '' : `?from=${timeText(fromS)}&to=${timeText(toS)}`
  const found = await read('GET /v1/rigs/{rig}/exposure', span)
  const { under40, from40to60, from60to80, over80, gapsH, offH } = found
  return {
    ...found,
    sumH: under40 + from40to60 + from60to80 + over80 + gapsH + offH,
    spanH: (Date.parse(found.to) - Date.parse(found.from)) / 3_600_000,
    fromS: Date.parse(found.from) / 1000,
    toS: Date.parse(found.to) / 1000,
  }
}

describe('after the schedule', () => {
  test('`now` says in a sentence what was read, and that nothing has been heard since', async () => {
    const now = await read('GET /v1/rigs/{rig}/now')
    expect(now.state).toBe('unheard')
    expect(now.sentence).toMatch(/^Nothing heard since .*Air \d/)
    expect(now.heardAt).toBe(new Date((startS + 7 * DAY_S - 600) * 1000).toISOString().replace('.000', ''))
    expect(now.alerts.map((alert: { rule: string }) => alert.rule)).toContain('silent')
    expect(now.unknown.length + now.assumed.length).toBeGreaterThan(0)
  })

  test('alerts come with a sentence in the reader’s zone and unit, causes, and what to look at first', async () => {
    const [alert] = (await read('GET /v1/alerts')).items
    expect(alert).toMatchObject({ rule: 'silent', rig, state: 'open' })
    expect(alert.check.length).toBeGreaterThan(1)
    expect(alert.title.length).toBeLessThanOrEqual(40)
    await world.call(keeper, 'PATCH /v1/me', { zone: 'Asia/Tokyo' })
    const [there] = (await read('GET /v1/alerts')).items
    expect(there.sentence).not.toBe(alert.sentence)
    await world.call(keeper, 'PATCH /v1/me', { zone: 'UTC' })
  })

  test('seen is seen for the whole hangar', async () => {
    const [alert] = (await read('GET /v1/rigs/{rig}/alerts')).items
    const seen = await world.call(keeper, `POST /v1/alerts/${alert.id}/seen`)
    expect(seen.body.state).toBe('seen')
    expect((await read('GET /v1/alerts')).items[0].state).toBe('seen')
  })

  test('cycles page newest first, without a gap or a repeat', async () => {
    const seen: string[] = []
    let after = ''
    for (let page = 0; page < 10; page++) {
      const { items, next } = await read('GET /v1/rigs/{rig}/cycles', `?limit=4${after}`)
      seen.push(...items.map((cycle: { at: string }) => cycle.at))
      if (next === null) break
      after = `&after=${encodeURIComponent(next)}`
    }
    expect(seen.length).toBeGreaterThan(12)
    expect(new Set(seen).size).toBe(seen.length)
    expect(seen.toSorted((a, b) => b.localeCompare(a))).toEqual(seen)
  })

  test('the hours of a period add up to the days that it says', async () => {
    const asked = await hoursOf(startS, startS + 7 * DAY_S)
    expect(asked.days.length).toBeGreaterThanOrEqual(6)
    expect(asked.spanH).toBe(24 * asked.days.length)
    expect(asked.sumH).toBeCloseTo(asked.spanH, 6)
    const usual = await hoursOf()
    expect(usual.spanH).toBeGreaterThanOrEqual(24)
    expect(usual.sumH).toBeCloseTo(usual.spanH, 6)
  })

  test('part of a day is that day, and what nobody heard before the first reading is a gap', async () => {
    const dayS = Math.floor(startS / DAY_S) * DAY_S
    const part = await hoursOf(dayS + 2 * DAY_S + 6 * 3600, dayS + 2 * DAY_S + 12 * 3600)
    expect([part.fromS, part.toS, part.days.length]).toEqual([dayS + 2 * DAY_S, dayS + 3 * DAY_S, 1])
    expect(part.sumH).toBeCloseTo(24, 6)
    const long = await hoursOf(startS - 180 * DAY_S, startS + 3 * DAY_S)
    expect(long.gapsH).toBeGreaterThan(179 * 24)
    expect(long.sumH).toBeCloseTo(long.spanH, 6)
    // A day that is not closed yet is not in the sum, nor in the span.
    const ahead = await hoursOf(startS + 300 * DAY_S, startS + 301 * DAY_S)
    expect([ahead.spanH, ahead.sumH]).toEqual([0, 0])
  })

  test('fills and trace answer by their schemas', async () => {
    await read('GET /v1/rigs/{rig}/fills')
    const trace = await read('GET /v1/rigs/{rig}/trace', '?points=200')
    expect(trace.series[0].points.length).toBeLessThanOrEqual(200)
    expect(trace.runs.length).toBeGreaterThan(5)
  })

  test('a changed entry is worked in: after a bake there is a fill with a forecast or a reason', async () => {
    const at = new Date((startS + DAY_S) * 1000).toISOString()
    await world.call(keeper, `POST /v1/rigs/${rig}/logbook`, {
      at,
      what: 'bake',
      detail: { tempC: 120, hours: 4 },
    })
    await tickUntilEven(world.clock.nowS + 300)
    const fills = await read('GET /v1/rigs/{rig}/fills')
    expect(fills.items.some((fill: { bakeTempC: number | null }) => fill.bakeTempC === 120)).toBe(true)
    const now = await read('GET /v1/rigs/{rig}/now')
    expect(now.fill).toMatchObject({ bakeTempC: 120, from: at.replace('.000', '') })
    expect(now.forecastSentence).toMatch(/At your pace|No forecast yet|By the ledger/)
    // A fill of an hour has no trend yet, and says nothing rather than zero.
    expect(now).toMatchObject({ floorTrend: null, floorTrendSentence: null })
  })
})

test('a salt check is answered: accepted or not, and why', async () => {
  const before = await read('GET /v1/rigs/{rig}/now')
  expect(before).toMatchObject({ sensorSentence: null })
  const until = timeText(startS + DAY_S + 3 * HOUR_S)
  const detail = { salt: 'LiCl', shownPct: 13, tempC: 20, until }
  const made = await world.call(keeper, `POST /v1/rigs/${rig}/logbook`, {
    at: timeText(startS + DAY_S),
    what: 'salt-check',
    detail,
  })
  expect(made.status).toBe(201)
  await tickUntilEven(world.clock.nowS)
  expect(await read('GET /v1/rigs/{rig}/now')).toMatchObject({
    sensorSentence:
      'The last salt check was not accepted: it was shorter than 8 hours. Nothing is corrected.',
  })
})
