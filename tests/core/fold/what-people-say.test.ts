import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { DatedSettings, LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { newMemory } from '../../../src/core/fold/memory.ts'
import type { Step } from '../../../src/core/fold/work.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR = 3600
const DAY = 24 * HOUR
const MONTH = 30

function judge(
  readings: readonly Reading[],
  log: readonly LogEntry[],
  untilDay: number,
  settings: readonly DatedSettings[] = [{ fromS: 0, settings: SETTINGS }],
): Step {
  return advance(newMemory(DAY_ZERO_S), { readings, log, settings }, DAY_ZERO_S + untilDay * DAY)
}

const told = ({ events }: Step): string[] =>
  events.map(({ rule, event, urgency }) => `${rule} ${event} ${urgency}`)

/** The pump rests, and the box creeps towards 85 %. */
function resting(fromDay: number, untilDay: number, fromPct = 12): Reading[] {
  const readings: Reading[] = []
  for (let atS = DAY_ZERO_S + fromDay * DAY; atS <= DAY_ZERO_S + untilDay * DAY; atS += 300) {
    const hours = (atS - DAY_ZERO_S - fromDay * DAY) / HOUR
    const humidityPct = Math.round(10 * (85 - (85 - fromPct) * Math.exp(-0.01 * hours))) / 10
    readings.push({ atS, place: 'return', humidityPct, tempC: 15, pumpOn: false, powerW: null })
  }
  return readings
}

const at = (day: number, what: string, detail: LogEntry['detail'] = {}): LogEntry => ({
  atS: DAY_ZERO_S + day * DAY,
  what,
  detail,
})

const withoutHub = (days: number) =>
  sawTooth({ days: 10, noisePct: 0.1 }).filter(
    ({ atS }) => atS <= DAY_ZERO_S + 2 * DAY || atS > DAY_ZERO_S + (2 + days) * DAY + 12 * 60,
  )

describe('power logged off', () => {
  test('is back with the hub: what the outlet does then is judged, and nobody is told that nothing was heard', () => {
    const readings = [...sawTooth({ days: 5, noisePct: 0.1 }), ...resting(5.2, 8)]
    const step = judge(readings, [at(5.125, 'power-off')], 8)
    expect(told(step)).toEqual(['silent raised visit', 'silent over visit', 'wet-and-idle raised now'])
  })

  test('stays off where the hub goes on', () => {
    const readings = [...sawTooth({ days: 5, noisePct: 0.1 }), ...resting(5, 8)]
    expect(told(judge(readings, [at(5.01, 'power-off')], 8))).toEqual([])
  })
})

describe('a hub that was unplugged with its rig', () => {
  test.each([0.3, 3])('is not silent when `on` is entered before its first post, after %d days', (days) => {
    const log = [at(2.001, 'off'), at(2 + days, 'on')]
    expect(told(judge(withoutHub(days), log, 8))).toEqual([])
  })

  test('is silent if it does not come back within two hours', () => {
    const readings = withoutHub(8)
    const step = judge(readings, [at(2.001, 'off'), at(3, 'on')], 6)
    expect(told(step)).toEqual(['silent raised visit', 'silent changed now'])
    const [raised, changed] = step.events.map(({ atS }) => (atS - DAY_ZERO_S - 3 * DAY) / HOUR)
    expect(raised).toBeCloseTo(2, 0)
    expect(changed).toBeCloseTo(24, 0)
  })
})

describe('away', () => {
  test('ends when the rig is back on: the next flight has to be answered', () => {
    const before = sawTooth({ days: 8, noisePct: 0.1 })
    const readings = [
      ...before.filter(({ atS }) => atS < DAY_ZERO_S + 2 * DAY || atS > DAY_ZERO_S + 5 * DAY),
      ...resting(8.01, 12, 55),
    ]
    const log = [at(2, 'off'), at(2.01, 'away'), at(5, 'on'), at(7.96, 'flight', { hours: '1' })]
    expect(told(judge(readings, log, 12))).toEqual(['left-off raised note', 'left-off changed visit'])
  })

  test('holds for the flights that it is entered for', () => {
    const readings = sawTooth({ days: 2, noisePct: 0.1 })
    const log = [at(2, 'off'), at(2.01, 'away'), at(2.2, 'flight'), at(4, 'flight')]
    expect(told(judge(readings, log, 12))).toEqual([])
  })
})

test('a flight from before the rig was first heard is waited for from then on', () => {
  const readings = sawTooth({ days: 4, noisePct: 0.1 })
  expect(told(judge(readings, [at(-5, 'flight')], 4))).toEqual(['left-off raised note', 'left-off over note'])
})

describe('a changed band', () => {
  const narrow = { ...SETTINGS, band: { startPct: 15, stopPct: 8 } }

  test('compares no run with one between other marks', () => {
    const readings = [
      ...sawTooth({ days: MONTH, noisePct: 0.1, stopPct: 8 }),
      ...sawTooth({ days: MONTH, noisePct: 0.1, stopPct: 4, from: DAY_ZERO_S + MONTH * DAY + 300 }),
    ]
    const step = judge(readings, [at(0.1, 'bake')], 2 * MONTH, [
      { fromS: 0, settings: narrow },
      { fromS: DAY_ZERO_S + MONTH * DAY, settings: { ...SETTINGS, band: { startPct: 15, stopPct: 4 } } },
    ])
    expect(told(step)).toEqual([])
    const ratios = step.cycles.flatMap(({ runTimeRatio }) => (runTimeRatio === null ? [] : [runTimeRatio]))
    expect(Math.max(...ratios)).toBeLessThan(1.2)
    expect(ratios.length).toBeGreaterThan(20)
  })

  test('other settings leave what was learned as it is', () => {
    const readings = sawTooth({ days: MONTH, noisePct: 0.1 })
    const log = [at(0.1, 'bake')]
    const renamed = [
      { fromS: 0, settings: SETTINGS },
      { fromS: DAY_ZERO_S + 20 * DAY, settings: { ...SETTINGS, pumpOnW: 2 } },
    ]
    const { memory } = judge(readings, log, MONTH, renamed)
    expect(memory.runTime).toEqual(judge(readings, log, MONTH).memory.runTime)
  })
})

test.each(['rest', 'run'] as const)(
  'a sensor replaced in a %s belongs to no cycle with the one before',
  (when) => {
    const readings = sawTooth({ days: 20, noisePct: 0.1 })
    const cycle = judge(readings, [], 20).cycles.find(({ runToS }) => runToS > DAY_ZERO_S + 10 * DAY)
    const atS =
      cycle === undefined ? 0 : when === 'rest' ? cycle.runToS + 1.5 * HOUR : cycle.runFromS + HOUR / 2
    // The old one reads 5 % high; the true air is the same throughout.
    const seen = readings.map((reading) =>
      reading.atS >= atS || reading.humidityPct === null
        ? reading
        : Object.assign({}, reading, { humidityPct: reading.humidityPct + 5 }),
    )
    const log = [{ atS, what: 'sensor', detail: { change: 'replaced' } }]
    const { cycles } = judge(seen, log, 20, [
      { fromS: 0, settings: { ...SETTINGS, band: { startPct: 20, stopPct: 11 } } },
      { fromS: atS, settings: SETTINGS },
    ])
    expect(cycles.filter(({ runFromS, atS: toS }) => runFromS < atS && toS > atS)).toEqual([])
    for (const { ingressPerH } of cycles) expect(ingressPerH ?? 0.015).toBeGreaterThan(0.01)
  },
)
