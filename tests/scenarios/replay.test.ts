import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { replay } from '../../clients/local/replay.ts'
import type { Reading } from '../../src/core/fold/inputs.ts'
import { timestampText } from '../../src/core/ingest/instant.ts'
import { DAY_ZERO_S, sawTooth } from '../core/fold/saw-tooth.ts'

let dir = ''
beforeAll(() => {
  dir = mkdtempSync(join(tmpdir(), 'replay-'))
})
afterAll(() => rmSync(dir, { recursive: true }))

function file(name: string, text: string): string {
  const path = join(dir, name)
  writeFileSync(path, text)
  return path
}

function csv(readings: readonly Reading[]): string {
  const lines = readings.map(({ atS, humidityPct, tempC, pumpOn }) =>
    [timestampText(atS), humidityPct ?? '', tempC ?? '', pumpOn === null ? '' : pumpOn ? 'on' : 'off'].join(
      ',',
    ),
  )
  return `at,humidity,temperature,pump\n${lines.join('\n')}\n`
}

type Line = Record<string, unknown>

function run(...args: string[]): { code: number; lines: Line[]; err: string } {
  const out: string[] = []
  const err: string[] = []
  const code = replay(args, { out: (text) => out.push(text), err: (text) => err.push(text) })
  return { code, lines: out.map((text): Line => JSON.parse(text)), err: err.join('\n') }
}

const RIG = '{"band": {"start": 15, "stop": 6}, "beadMassG": 2000, "volumeL": 45, "flowLPerMin": 2.5}'

function cyclesOfPlaces(rows: readonly string[]): Line[] {
  const trace = file('places.csv', `at,humidity,temperature,place\n${rows.join('\n')}`)
  return run('--rig', file('rig.json', RIG), '--cycles', trace).lines
}

describe('replay', () => {
  const readings = sawTooth({ days: 20, noisePct: 0.2, stepPct: 0.1, ingressPerH: 0.08 })

  test('a rig in order: cycles, forecasts, a summary whose hours are the span, and no alert of weight', () => {
    const trace = file('order.csv', csv(readings))
    const logbook = file('order-log.csv', 'at,what,detail\n2026-03-01T00:00:00Z,bake,tempC=120;jar=a\n')
    const { code, lines, err } = run(
      '--rig',
      file('rig.json', RIG),
      '--logbook',
      logbook,
      '--cycles',
      '--forecast-every',
      '1d',
      trace,
    )
    expect([code, err]).toEqual([0, ''])
    const cycles = lines.filter(({ event }) => event === 'cycle')
    const forecasts = lines.filter(({ event }) => event === 'forecast')
    const summary = lines.at(-1) ?? {}
    expect(cycles.length).toBeGreaterThan(60)
    expect(cycles[3]).toMatchObject({ basis: 'reported', afterFlight: false })
    expect(cycles[3]?.['kPerH']).toBeCloseTo(2, 0)
    expect(forecasts).toHaveLength(20)
    expect(forecasts.at(-1)).toMatchObject({ flightsLeft: null, capacityG: { mid: expect.any(Number) } })
    expect(lines.filter(({ urgency }) => urgency === 'now' || urgency === 'visit')).toEqual([])
    expect(summary).toMatchObject({
      event: 'summary',
      from: '2026-03-01T00:00:00Z',
      to: '2026-03-21T00:00:00Z',
      readings: readings.length,
      cycles: cycles.length,
      open: [],
    })
    const exposure = summary['exposureH']
    const hours = typeof exposure === 'object' && exposure !== null ? Object.values(exposure).slice(0, 4) : []
    const total = [...hours, summary['gapsH'], summary['offH']].reduce<number>(
      (sum, part) => sum + Number(part),
      0,
    )
    expect(total).toBeCloseTo(20 * 24, 6)
    const times = lines.slice(0, -1).map(({ at }) => String(at))
    expect(times).toEqual([...times].sort())
  })

  test('a dead pump is told with its sentence, and ends when the air comes down', () => {
    const brokenS = DAY_ZERO_S + 12 * 86_400
    const stretch = readings.map((reading) => {
      const hours = (reading.atS - brokenS) / 3600
      if (hours < 0 || hours > 30) return reading
      return { ...reading, pumpOn: true, humidityPct: Math.round(170 + 2 * hours) / 10 }
    })
    const { lines } = run('--rig', file('rig.json', RIG), file('dead.csv', csv(stretch)))
    const told = lines.filter(({ rule }) => rule === 'no-drop')
    expect(told.map(({ event }) => event)).toEqual(['raised', 'over'])
    expect(String(told[0]?.['sentence']).length).toBeGreaterThan(40)
    expect(Date.parse(String(told[0]?.['at'])) / 1000 - brokenS).toBeLessThan(12 * 3600)
  })

  test('an outage is a gap: its hours are counted as one and no cycle bridges it', () => {
    const fromS = DAY_ZERO_S + 5 * 86_400
    const heard = readings.filter(({ atS }) => atS <= fromS || atS >= fromS + 36 * 3600)
    const trace = file('gap.csv', csv(heard))
    const { lines } = run('--rig', file('rig.json', RIG), '--cycles', trace)
    expect(lines.at(-1)?.['gapsH']).toBeCloseTo(36, 0)
    for (const line of lines.filter(({ event }) => event === 'cycle'))
      expect(Number(line['restMin'])).toBeLessThan(600)
    expect(lines.some(({ rule, event }) => rule === 'silent' && event === 'raised')).toBe(true)
  })

  test('order of lines, columns and quotes do not matter; bad lines are named and left out', () => {
    const plain = csv(readings.slice(0, 600))
    const rows = plain.trim().split('\n').slice(1)
    const mixed = rows
      .map((row) => row.split(','))
      .toReversed()
      .map(([at, humidity, temperature, pump]) => `"${pump}",${temperature},return,"${humidity}",${at}`)
    mixed.splice(10, 0, 'on,15,return,nan,2026-03-01T00:00:00Z', 'on,15,cellar,9,2026-03-01T00:00:00Z', '')
    const text = `pump,temperature,place,humidity,at\r\n${mixed.join('\r\n')}`
    const straight = run('--rig', file('rig.json', RIG), '--cycles', file('plain.csv', plain))
    const turned = run('--rig', file('rig.json', RIG), '--cycles', file('mixed.csv', text))
    expect(turned.lines).toEqual(straight.lines)
    expect(turned.code).toBe(0)
    expect(turned.err).toMatch(
      /mixed\.csv:12: humidity: .*\n.*mixed\.csv:13: place: .*cellar.*\n.*2 bad lines/u,
    )
  })

  test('within an instant the order of the lines does not matter either', () => {
    // Five days in which the hangar's air is heard at the very times of the return air.
    const both = readings.slice(0, 1440).flatMap((reading) => {
      const swing = 20 * Math.sin(reading.atS / 7200)
      return [reading, { ...reading, place: 'ambient', humidityPct: 60 + swing, tempC: 12 + swing / 4 }]
    })
    const rows = both.map(({ atS, humidityPct, tempC, place }) => {
      return `${timestampText(atS)},${humidityPct},${tempC},${place}`
    })
    const pairs = Array.from({ length: rows.length / 2 }, (_, at) => rows.slice(2 * at, 2 * at + 2))
    const turned = pairs.flatMap((pair) => pair.toReversed())
    expect(cyclesOfPlaces(turned)).toEqual(cyclesOfPlaces(rows))
  })

  test('a line that was cut off, has commas too many or a quote that does not end gives no value', () => {
    const rows = csv(readings.slice(0, 300)).trim().split('\n')
    const [first = '', second = '', third = ''] = rows.slice(1)
    const broken = [
      rows[0],
      first.replace(/\.\d+,.*$/u, ''),
      second.replace(',', ',4,'),
      third.replace(/,(\d)/u, ',"$1'),
      ...rows.slice(4),
    ]
    const whole = run(
      '--rig',
      file('rig.json', RIG),
      file('whole.csv', [rows[0], ...rows.slice(4)].join('\n')),
    )
    const { lines, code, err } = run('--rig', file('rig.json', RIG), file('cut.csv', broken.join('\n')))
    expect(code).toBe(0)
    expect(lines).toEqual(whole.lines)
    expect(err).toMatch(
      /cut\.csv:2: \d fields under a header of \d\n.*cut\.csv:3: \d fields .*\n.*cut\.csv:4: .*quote.*\n.*3 bad lines/u,
    )
  })

  test('an entry whose quote does not end is named, and those after it count', () => {
    const trace = file('e.csv', csv(readings.slice(0, 600)))
    const log = (text: string) =>
      run('--rig', file('rig.json', RIG), '--logbook', file('log.csv', `at,what,detail\n${text}`), trace)
    const bake = '2026-03-01T12:00:00Z,bake,tempC=120;hours=4'
    const { lines, err } = log(`2026-03-01T06:00:00Z,note,"text=half\n${bake}`)
    expect(lines).toEqual(log(bake).lines)
    expect(err).toMatch(/log\.csv:2: .*quote.*\n.*1 bad line/u)
  })

  test('repeats change nothing, a second value for an instant is named', () => {
    const text = csv(readings.slice(0, 600))
    const rows = text.trim().split('\n')
    const again = [...rows, ...rows.slice(1, 200), `${timestampText(DAY_ZERO_S)},99,15,off`].join('\n')
    const once = run('--rig', file('rig.json', RIG), '--cycles', file('once.csv', text))
    const twice = run('--rig', file('rig.json', RIG), '--cycles', file('twice.csv', again))
    expect(twice.lines).toEqual(once.lines)
    expect(twice.err).toContain('the first stays')
  })

  test.each([
    ['no band', '{"beadMassG": 2000}', '/band'],
    ['a band upside down', '{"band": {"start": 6, "stop": 15}}', '/band/start'],
    ['no JSON', '{band}', 'no JSON'],
  ])('a rig.json with %s is refused with the place', (_, rig, place) => {
    const { code, err } = run('--rig', file('bad.json', rig), file('x.csv', csv(readings.slice(0, 10))))
    expect(code).toBe(2)
    expect(err).toContain(place)
  })

  test('nothing readable is refused; an unknown key is only a warning', () => {
    expect(run('--rig', file('rig.json', RIG), file('none.csv', 'at,humidity\nx,y\n')).code).toBe(2)
    expect(run('--rig', file('rig.json', RIG), file('empty.csv', '')).code).toBe(2)
    expect(run('--rig', file('rig.json', RIG), join(dir, 'missing.csv')).code).toBe(2)
    const odd = run(
      '--rig',
      file('odd.json', '{"band": {"start": 15, "stop": 6}, "colour": "red"}'),
      file('y.csv', csv(readings.slice(0, 300))),
    )
    expect(odd.code).toBe(0)
    expect(odd.err).toContain('"colour"')
  })

  test('what is not stated is named, never assumed', () => {
    const { lines } = run(
      '--rig',
      file('bare.json', '{"band": {"start": 15, "stop": 6}}'),
      file('z.csv', csv(readings.slice(0, 3000))),
    )
    const summary = lines.at(-1) ?? {}
    expect(JSON.stringify(summary['unknown'])).toMatch(
      /no flow stated.*no bead mass stated.*no volume stated/u,
    )
    expect(summary['assumed']).toEqual(['hangar air 60 % at 15 degC'])
  })

  test('--to ends the replay before the last reading', () => {
    const trace = file('to.csv', csv(readings))
    const { lines } = run('--rig', file('rig.json', RIG), '--to', '2026-03-05T00:00:00Z', trace)
    expect(lines.at(-1)).toMatchObject({ to: '2026-03-05T00:00:00Z', readings: 4 * 288 + 1 })
    const before = run('--rig', file('rig.json', RIG), '--to', '2026-02-01T00:00:00Z', trace)
    expect(before.code).toBe(2)
    expect(before.err).toContain('nothing up to --to, the first reading is of 2026-03-01T00:00:00Z')
  })
})
