import { describe, expect, test } from 'vitest'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import type { Moment } from '../../../src/core/rules/rule.ts'
import { alertSentence } from '../../../src/core/words/alert-words.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'
import { HOUR_S, Line, type Step } from './moment.ts'

describe('a rig not back on after a flight', () => {
  const idle: Step = { pct: 12, pump: 'rest' }

  test('a note after 4 h, a visit after 36 h, over when it is back', () => {
    const line = new Line()
    line.forHours(1, idle)
    const fromS = line.atS
    line.forHours(40, { ...idle, with: { flightAtS: fromS, unansweredFlightAtS: fromS } })
    line.forHours(1, { ...idle, with: { unansweredFlightAtS: null } })
    expect(line.story(fromS)).toEqual([
      '4.0 raised left-off note',
      '36.0 changed left-off visit',
      '40.1 over left-off visit',
    ])
  })

  test('an `off` does not excuse it, `away` does', () => {
    const line = new Line({ suspended: 'off' })
    const fromS = line.atS
    line.forHours(5, { ...idle, with: { unansweredFlightAtS: fromS } })
    expect(line.isOpen('left-off')).toBe(true)
    line.step({ ...idle, with: { isAway: true } })
    expect(line.open).toEqual([])
    expect(line.events.at(-1)?.evidence['endedBy']).toBe('away')
  })

  test('without a flight three runs over a day are a note, over with the entry; a bench has fewer', () => {
    const line = new Line({ suspended: 'off', offSinceS: 0 })
    const fromS = line.atS
    const runs = (count: number, hours: number): Step['with'] => ({
      offRuns: {
        runs: count,
        engineRuns: 0,
        wetRuns: 0,
        firstRunAtS: fromS,
        lastRunAtS: fromS + hours * HOUR_S,
      },
    })
    line.forHours(40, { ...idle, with: runs(2, 30) })
    line.forHours(1, { ...idle, with: runs(5, 20) })
    expect(line.events).toEqual([])
    line.forHours(50, { ...idle, with: runs(3, 25) })
    line.step({ ...idle, with: { suspended: null, offSinceS: null } })
    expect(line.story(fromS)).toEqual(['41.1 raised left-off note', '91.1 over left-off note'])
  })

  const flownOff = (
    line: Line,
    offRuns: { runs: number; engineRuns: number; wetRuns: number; lastH: number },
  ): Step => {
    const { lastH, ...counts } = offRuns
    const fromS = line.atS
    const lastRunAtS = fromS + lastH * HOUR_S
    return {
      ...idle,
      with: {
        flightAtS: fromS,
        unansweredFlightAtS: fromS,
        offSinceS: fromS,
        offRuns: { ...counts, firstRunAtS: fromS + HOUR_S, lastRunAtS },
      },
    }
  }

  test.each([
    ['three runs, one as slow as an engine', { runs: 3, engineRuns: 1, wetRuns: 0, lastH: 20 }, 'note'],
    ['two, one from the air of a wet engine', { runs: 2, engineRuns: 2, wetRuns: 1, lastH: 20 }, 'note'],
    ['thirty as quick as joined hoses', { runs: 30, engineRuns: 0, wetRuns: 0, lastH: 20 }, 'visit'],
    ['two of a front that passed twice', { runs: 2, engineRuns: 2, wetRuns: 0, lastH: 20 }, 'visit'],
  ] as const)('logged off, flown, and since then %s', (_, offRuns, urgency) => {
    const line = new Line({ suspended: 'off' })
    line.forHours(40, flownOff(line, offRuns))
    expect(line.open).toMatchObject([{ rule: 'left-off', urgency }])
    expect(line.open[0]?.evidence).toMatchObject({ isCycling: urgency === 'note', runs: offRuns.runs })
  })

  test('its runs excuse it no longer when the air has stood above `start` for 36 h since the last', () => {
    const line = new Line({ suspended: 'off' })
    const fromS = line.atS
    const back = flownOff(line, { runs: 4, engineRuns: 3, wetRuns: 1, lastH: 20 })
    line.forHours(50, back)
    line.forHours(10, { ...back, pct: 30 })
    expect(line.story(fromS)).toEqual(['4.1 raised left-off note', '56.0 changed left-off visit'])
  })

  test('without a logged flight it is silent', () => {
    const line = new Line()
    line.forHours(60, idle)
    expect(line.events).toEqual([])
  })
})

const gate = (
  isOpen: boolean,
  openedAtS: number | null,
  movedG: number | null,
  more: Partial<Moment['wetGate']> = {},
): Step['with'] => ({
  wetGate: { isOpen, openedAtS, movedG, budgetG: 40, expectedH: 7, ...more },
})

const overSentence = (line: Line): string[] =>
  line.events.filter(({ event }) => event === 'over').map((event) => alertSentence(event, PLAIN))

/** Air, pump and ledger of a flight's water as it goes on, in hours; each step holds until the next one's. */
type Course = readonly {
  readonly hours: number
  readonly pct: number
  readonly pump: 'run' | 'rest'
  readonly g: number
  readonly with?: Step['with']
}[]

function follow(line: Line, course: Course): void {
  for (const { hours, pct, pump, g, with: more } of course)
    line.forHours(hours, { pct, pump, with: { sinceFlightG: g, ...more } })
}

/** A plateau of nine hours from the landing on, and then `closed`. */
function plateau(line: Line): { readonly fromS: number; readonly closed: Step['with'] } {
  const fromS = line.atS
  follow(line, [
    { hours: 1, pct: 12, pump: 'rest', g: 0, with: { flightAtS: fromS } },
    { hours: 9, pct: 95, pump: 'run', g: 7.9, with: gate(true, fromS + HOUR_S, 7.4) },
  ])
  return { fromS, closed: { driedAtS: line.atS + HOUR_S / 12, ...gate(false, null, null) } }
}

const wetStory = (line: Line, fromS: number): string[] =>
  line.story(fromS).filter((event) => event.includes('wet-after'))

describe('water of a flight', () => {
  test('is a note until a day of runs has taken it out, and says what the beads took up by the last of them', () => {
    const line = new Line()
    const { fromS, closed } = plateau(line)
    follow(line, [
      { hours: 1, pct: 14, pump: 'run', g: 8.6, with: closed },
      { hours: 5, pct: 9, pump: 'rest', g: 9.1, with: { stoppedAtS: fromS + 11 * HOUR_S } },
      { hours: 4, pct: 11, pump: 'run', g: 11 },
      { hours: 10, pct: 8, pump: 'rest', g: 12.4, with: { stoppedAtS: fromS + 20 * HOUR_S } },
    ])
    expect(wetStory(line, fromS)).toEqual([
      '1.1 raised wet-after-flight note',
      '25.0 over wet-after-flight note',
    ])
    expect(line.events.at(-1)?.evidence['movedG']).toBe(12.4)
    expect(overSentence(line)).toEqual([
      'About 12 g of water came out after the flight in 19 hours; the return air reads 8 %.',
    ])
  })

  test('is not out while no run has come down to the stop limit, and is said not to be', () => {
    const line = new Line()
    const { fromS, closed } = plateau(line)
    follow(line, [
      { hours: 95, pct: 9, pump: 'run', g: 14.2, with: { ...closed, stoppedAtS: fromS - HOUR_S } },
    ])
    expect(wetStory(line, fromS)).toEqual(['1.1 raised wet-after-flight note'])
    follow(line, [{ hours: 2, pct: 9, pump: 'run', g: 14.2 }])
    expect(overSentence(line)).toEqual([
      'About 14 g of water came out in 4 days, and no run has come down to 6 % since the flight: more may follow; the return air reads 9 %.',
    ])
  })

  test('is told as it stands when the plateau ends', () => {
    const line = new Line()
    const { closed } = plateau(line)
    follow(line, [{ hours: 3, pct: 14, pump: 'run', g: 8.6, with: closed }])
    const open = line.open.find(({ rule }) => rule === 'wet-after-flight')
    expect(open === undefined ? '' : alertSentence(open, PLAIN, line.atS)).toMatch(
      /^The plateau after the flight is over: 14 % at [^,]*, about 8\.6 g of water so far\./u,
    )
  })

  test('begins with the rig back on: what its pump drew in the hangar is no water of the engine', () => {
    const line = new Line()
    const fromS = line.atS
    const closed = { driedAtS: fromS + 11 * HOUR_S, ...gate(false, null, null) }
    follow(line, [
      { hours: 3, pct: 60, pump: 'run', g: 4, with: { flightAtS: fromS, suspended: 'off' } },
      // Back on, and the first run has no plateau yet.
      { hours: 1, pct: 20, pump: 'run', g: 5, with: { suspended: null } },
      { hours: 6, pct: 95, pump: 'run', g: 10, with: gate(true, fromS + 4 * HOUR_S, 4.5) },
      { hours: 30, pct: 9, pump: 'rest', g: 10, with: { ...closed, stoppedAtS: fromS + 11 * HOUR_S } },
    ])
    expect(line.events.at(-1)?.evidence['movedG']).toBe(6)
  })

  test('is told as far as it came when the aircraft flies again, and the next flight has its own', () => {
    const line = new Line()
    const { fromS } = plateau(line)
    const againS = line.atS
    const wet = gate(true, fromS + HOUR_S, 7.9)
    follow(line, [
      { hours: 1, pct: 60, pump: 'rest', g: 0, with: { flightAtS: againS, suspended: 'flight', ...wet } },
      { hours: 2, pct: 95, pump: 'run', g: 2, with: { suspended: null } },
    ])
    expect(overSentence(line)).toEqual([
      'Flown again after 9 hours: until then about 7.9 g of water came out.',
    ])
    expect(wetStory(line, fromS)).toEqual([
      '1.1 raised wet-after-flight note',
      '11.1 over wet-after-flight note',
      '11.2 raised wet-after-flight note',
    ])
    expect(line.open.find(({ rule }) => rule === 'wet-after-flight')).toMatchObject({
      sinceS: againS,
      evidence: { flightAtS: againS },
    })
  })

  test('without a flow has no grams', () => {
    const line = new Line()
    const fromS = line.atS
    line.forHours(9, { pct: 95, pump: 'run', with: { flightAtS: fromS, ...gate(true, fromS, null) } })
    const stopped = { stoppedAtS: line.atS + HOUR_S, driedAtS: line.atS, ...gate(false, null, null) }
    line.forHours(20, { pct: 9, pump: 'rest', with: stopped })
    expect(overSentence(line)).toEqual([
      'The water of the flight is out in 10 hours; the return air reads 9 %.',
    ])
  })

  test('that does not come out is said so, not called out', () => {
    const line = new Line()
    const fromS = line.atS
    line.forHours(30, {
      pct: 93,
      pump: 'run',
      with: { flightAtS: fromS, ...gate(true, fromS + HOUR_S, 7.4) },
    })
    line.forHours(3, { pct: 93, pump: 'run', with: gate(false, null, null, { isTimedOut: true }) })
    expect(overSentence(line)).toEqual([
      'Still wet after 29 hours, 93 % in the return air: longer than the water of a flight takes. The pump is judged again.',
    ])
  })

  test('that is given up early is not said to have taken long', () => {
    const line = new Line()
    const fromS = line.atS
    line.forHours(1, { pct: 95, pump: 'run', with: { flightAtS: fromS, ...gate(true, fromS, 0.7) } })
    line.forHours(3, { pct: 94, pump: 'run', with: gate(false, null, null) })
    expect(overSentence(line)).toEqual([
      'Still wet after 65 minutes, 94 % in the return air, and the air does not look as if the pump moved it. The pump is judged again.',
    ])
  })

  test('nor is it where no flow says how long its water takes', () => {
    const line = new Line()
    const fromS = line.atS
    const noFlow = { expectedH: null }
    const opened = gate(true, fromS, null, noFlow)
    line.forHours(1, { pct: 95, pump: 'run', with: { flightAtS: fromS, ...opened } })
    line.forHours(3, { pct: 88, pump: 'run', with: gate(false, null, null, noFlow) })
    expect(overSentence(line)).toEqual([
      'Still wet after 65 minutes, 88 % in the return air, and the air does not look as if the pump moved it. The pump is judged again.',
    ])
  })

  test('nor is it where a saturated box says that its air stands, or an hour later a new run begins', () => {
    const line = new Line()
    const fromS = line.atS
    const opened = gate(true, fromS, 7)
    line.forHours(16, { pct: 99, pump: 'run', with: { flightAtS: fromS, ...opened } })
    line.forHours(1, {
      pct: 99,
      pump: 'run',
      with: gate(false, null, null, { isTimedOut: true, isStagnant: true }),
    })
    line.forHours(2, { pct: 99, pump: 'run', with: gate(false, null, null) })
    expect(overSentence(line).join()).toContain('does not look as if the pump moved it')
  })

  test('a plateau without a flight is not told as one', () => {
    const line = new Line()
    line.forHours(5, { pct: 95, pump: 'run', with: gate(true, line.atS, 4) })
    expect(line.events).toEqual([])
  })
})

describe('dew on the metal', () => {
  const damp = {
    isAmbientMeasured: true,
    ambientPct: 92,
    ambientTempC: 14,
    ambientGm3: vapourDensityGm3(92, 14),
    metalTempC: 6,
  }
  const air: Step['others'] = [{ place: 'ambient', humidityPct: 92, tempC: 14 }]

  test('is a note with the rig off, after six hours, over half a day later', () => {
    const line = new Line({ ...damp, suspended: 'off' })
    const fromS = line.atS
    line.forHours(8, { others: air })
    line.forHours(14, { others: air, with: { metalTempC: 15 } })
    expect(line.story(fromS)).toEqual(['6.1 raised condensing note', '20.1 over condensing note'])
  })

  test('is nothing to a closed loop', () => {
    const line = new Line(damp)
    line.forHours(12, { pct: 9, others: air })
    expect(line.events).toEqual([])
  })

  test('needs a sensor in the hangar, and says so', () => {
    const line = new Line({ suspended: 'off' })
    line.forHours(1, {})
    expect(line.memory.unknown.find((u) => u.what === 'condensing')?.why).toContain(
      'no sensor in the hangar air',
    )
  })
})

describe('readings that jump', () => {
  test('three spikes in a day are a note, over after a week without', () => {
    const line = new Line()
    const spike: Step = { pct: 60, pump: 'rest' }
    for (let i = 0; i < 3; i++) {
      line.forHours(2, { pct: 10, pump: 'rest' })
      line.step(spike)
    }
    line.forHours(1, { pct: 10, pump: 'rest' })
    expect(line.open.map((a) => `${a.rule} ${a.urgency}`)).toEqual(['implausible note'])
    line.forHours(24 * 7 + 1, (h) => ({ pct: 10 + Math.sin(h), pump: 'rest' }))
    expect(line.events.map((e) => e.event)).toEqual(['raised', 'over'])
  })

  test('a surge after the pump starts is not a spike, nor is unhooking', () => {
    const line = new Line()
    for (let i = 0; i < 5; i++) {
      line.forHours(2, { pct: 10, pump: 'rest' })
      line.step({ pct: 40, pump: 'run' })
      line.forHours(1, { pct: 11, pump: 'run' })
    }
    line.forHours(2, { pct: 60, pump: 'unknown' })
    expect(line.events.filter((e) => e.rule === 'implausible')).toEqual([])
  })
})
