/** From posts over the schedule to what a person reads: sentences, alerts, cycles, hours. */
import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
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

  test('the hours of a period add up to its closed days', async () => {
    const span = `?from=${new Date(startS * 1000).toISOString()}&to=${new Date((startS + 7 * DAY_S) * 1000).toISOString()}`
    const hours = await read('GET /v1/rigs/{rig}/exposure', span)
    const { under40, from40to60, from60to80, over80, gapsH, offH } = hours
    expect(hours.days.length).toBeGreaterThanOrEqual(6)
    expect(under40 + from40to60 + from60to80 + over80 + gapsH + offH).toBeCloseTo(24 * hours.days.length, 0)
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
