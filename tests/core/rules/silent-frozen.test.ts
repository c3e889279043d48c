import { describe, expect, test } from 'vitest'
import { HOUR_S, Line, timeline, type Step } from './moment.ts'

const LETTERS: Readonly<Record<string, Step>> = { x: { pct: 9, pump: 'rest' }, _: {} }

/** A day of 10 K in the hangar, degC. */
const warm = (hour: number): number => 15 + 5 * Math.sin((2 * Math.PI * hour) / 24)

describe('silence', () => {
  test.each([
    ['two hours without a reading', 'xx______', '....oooo'],
    ['ends with the next reading', 'xx_____xx', '....ooo..'],
    ['a night without a router of one hour', 'xx__xxx', '.......'],
  ])('%s', (_, seen, states) => {
    expect(timeline(new Line(), 'silent', seen, LETTERS, 60)).toBe(states)
  })

  test('turns urgent after a day, and is one alert', () => {
    const line = new Line()
    line.forHours(1, { pct: 9 })
    const fromS = line.atS
    line.forHours(40, {})
    expect(line.story(fromS)).toEqual(['2.1 raised silent visit', '24.1 changed silent now'])
    expect(line.events[0]?.sinceS).toBe(fromS)
  })

  test('a hub that reports every two hours has three of them', () => {
    const line = new Line({ spacingS: 7200, gapMaxS: 21_600 })
    line.forHours(1, { pct: 9 })
    const fromS = line.atS
    line.forHours(8, {})
    expect(line.story(fromS)).toEqual(['6.1 raised silent visit'])
  })

  test('an ambient sensor that still reports does not stand in for the return sensor', () => {
    const line = new Line()
    line.forHours(1, { pct: 9 })
    line.forHours(4, { others: [{ place: 'ambient', humidityPct: 60 }] })
    expect(line.isOpen('silent')).toBe(true)
    expect(line.open[0]?.evidence['otherHeardS']).not.toBeNull()
  })

  test.each(['off', 'power-off', 'salt-check'] as const)('is not judged during %s', (suspended) => {
    const line = new Line()
    line.forHours(1, { pct: 9 })
    line.forHours(8, { with: { suspended } })
    expect(line.events).toEqual([])
  })

  test('a rig that was never heard is not silent: it says that nothing has come', () => {
    const line = new Line()
    line.forHours(8, {})
    expect(line.events).toEqual([])
    expect(line.memory.unknown).toContainEqual({ what: 'silent', why: 'no reading has come yet' })
  })

  test('while it is open nothing else is raised or ended', () => {
    const line = new Line()
    line.forHours(5, { pct: 18, pump: 'rest' })
    expect(line.isOpen('wet-and-idle')).toBe(true)
    line.forHours(3, {})
    expect(line.open.map((a) => a.rule).sort()).toEqual(['silent', 'wet-and-idle'])
    const before = line.events.length
    line.forHours(3, { with: { unansweredFlightAtS: line.atS - 50 * HOUR_S } })
    expect(line.events.length).toBe(before)
  })
})

const frozenLine = (base = {}): Line => {
  const line = new Line({ sensor: { sigmaPct: 0.2, stepPct: 0.1, stuckShare: 0.4 }, ...base })
  line.forHours(3, (h) => ({ pct: 9 + h / 10, sample: { tempC: warm(h) } }))
  return line
}

describe('a sensor that stands still', () => {
  test('is told after a day in which the warmth should have moved it', () => {
    const line = frozenLine()
    const fromS = line.atS
    line.forHours(30, (h) => ({ pct: 9.4, sample: { tempC: warm(h) } }))
    expect(line.story(fromS)).toEqual(['24.1 raised frozen visit'])
    expect(line.open[0]?.evidence['pct']).toBe(9.4)
    expect(line.open[0]?.evidence['tempSpanC']).toBeCloseTo(10, 0)
  })

  test('with its temperature dead too, ingress should have moved it', () => {
    const line = frozenLine()
    line.forHours(40, { pct: 9.4, sample: { tempC: 15 } })
    expect(line.open.map((a) => a.rule)).toEqual(['frozen'])
    expect(line.open[0]?.evidence['expectedBy']).toBe('ingress')
  })

  test('a coarse, quiet sensor in a tight, even engine may repeat itself for days', () => {
    const line = frozenLine({
      sensor: { sigmaPct: 0.1, stepPct: 1, stuckShare: 0.99 },
      lambdaRefPerH: 0.003,
    })
    line.forHours(35, (h) => ({ pct: 9, sample: { tempC: 15 + Math.sin(h / 4) } }))
    expect(line.events).toEqual([])
  })

  test.each([0, 100])('an end stop of %s %% is not frozen', (pct) => {
    const line = frozenLine({ ambientPct: 60 })
    line.forHours(60, (h) => ({
      pct,
      sample: { tempC: warm(h) },
      with: { pump: { state: 'unknown', basis: 'reported', sinceS: null } },
    }))
    expect(line.isOpen('frozen')).toBe(false)
  })

  test('it ends after two different readings, and explains what began while it stood still', () => {
    const line = frozenLine()
    line.forHours(30, (h) => ({ pct: 18, sample: { tempC: warm(h) }, pump: 'rest' }))
    expect(line.events.map((e) => `${e.event} ${e.rule}`)).toEqual([
      'raised wet-and-idle',
      'over wet-and-idle',
      'raised frozen',
    ])
    line.forHours(1, (h) => ({ pct: 10 + h, pump: 'rest' }))
    expect(line.open).toEqual([])
  })

  test('over liquid water neither the pump nor the day has to move it; once the plateau is over they do', () => {
    const line = frozenLine()
    const wetGate = {
      isOpen: true,
      isProven: true,
      openedAtS: line.atS,
      movedG: 5,
      budgetG: 40,
      expectedH: 40,
    }
    line.forHours(40, (h) => ({ pct: 95, sample: { tempC: warm(h) }, pump: 'run', with: { wetGate } }))
    expect(line.isOpen('frozen')).toBe(false)
    const over = { wetGate: { ...wetGate, isOpen: false } }
    line.forHours(26, (h) => ({ pct: 95, sample: { tempC: warm(h) }, pump: 'run', with: over }))
    expect(line.isOpen('frozen')).toBe(true)
  })

  test('a gap starts the count again', () => {
    const line = frozenLine()
    line.forHours(20, (h) => ({ pct: 9.4, sample: { tempC: warm(h) } }))
    line.forHours(1, {})
    line.forHours(20, (h) => ({ pct: 9.4, sample: { tempC: warm(h) } }))
    expect(line.events).toEqual([])
  })
})
