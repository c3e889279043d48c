import { describe, expect, test } from 'vitest'
import { advance } from '../../../src/core/fold/advance.ts'
import type { LogEntry, Reading } from '../../../src/core/fold/inputs.ts'
import { type Memory, newMemory } from '../../../src/core/fold/memory.ts'
import type { AlertEvent } from '../../../src/core/fold/outputs.ts'
import { alertSentence } from '../../../src/core/words/alert-words.ts'
import { PLAIN } from '../../../src/core/words/tongue.ts'
import { DAY_ZERO_S, SETTINGS, sawTooth } from './saw-tooth.ts'

const HOUR_S = 3600
const DAY_S = 86_400
const DAYS = 10
const OFF_S = DAY_ZERO_S + DAYS * DAY_S
const LANDED_S = OFF_S + 2 * HOUR_S
const BACK_S = LANDED_S + HOUR_S

const OFF: LogEntry = { atS: OFF_S, what: 'off', detail: {} }
const FLIGHT: LogEntry = { atS: LANDED_S, what: 'flight', detail: { hours: '1.5' } }

type Back = {
  /** How fast the pump dries what it is joined to, 1/h: an engine 2, two hoses on a bench 30. */
  readonly kPerH?: number
  readonly basis?: 'reported' | 'power' | 'inferred'
  readonly days?: number
  readonly hangarPct?: number | null
  readonly fromPct?: number
}

/** In the hangar's air until `BACK_S`, then a run that dries from `fromPct` down to `stop`, then ordinary cycles. */
function readingsOf({
  kPerH = 2,
  basis = 'reported',
  days = 4,
  hangarPct = null,
  fromPct = 70,
}: Back): Reading[] {
  const before = sawTooth({ days: DAYS, basis }).filter(({ atS }) => atS <= OFF_S)
  const readings: Reading[] = [...before]
  const post = (atS: number, humidityPct: number, isOn: boolean): void => {
    readings.push({
      atS,
      place: 'return',
      humidityPct: Math.round(humidityPct * 100) / 100,
      tempC: 15,
      pumpOn: basis === 'reported' ? isOn : null,
      powerW: basis === 'power' ? (isOn ? 4.1 : 0.3) : null,
    })
  }
  for (let atS = OFF_S + 300; atS < BACK_S; atS += 300) post(atS, 14, false)
  let atS = BACK_S
  for (let pct = fromPct; pct > 6; atS += 300) {
    pct = 2 + (fromPct - 2) * Math.exp((-kPerH * (atS - BACK_S)) / HOUR_S)
    post(atS, Math.max(5.9, pct), pct > 6)
  }
  readings.push(...sawTooth({ days, basis, kPerH, from: atS }))
  if (hangarPct === null) return readings
  const common = { place: 'ambient' as const, tempC: 15, pumpOn: null, powerW: null, humidityPct: hangarPct }
  return readings.flatMap((reading) => [reading, { ...common, atS: reading.atS }])
}

function follow(back: Back, log: readonly LogEntry[]): { memory: Memory; events: readonly AlertEvent[] } {
  const readings = readingsOf(back)
  const untilS = readings.at(-1)?.atS ?? 0
  const sorted = [...log].sort((a, b) => a.atS - b.atS)
  return advance(
    newMemory(DAY_ZERO_S - 300),
    { readings, log: sorted, settings: [{ fromS: 0, settings: SETTINGS }] },
    untilS,
  )
}

const leftOff = (events: readonly AlertEvent[]): string[] =>
  events.filter(({ rule }) => rule === 'left-off').map(({ event, urgency }) => `${event} ${urgency}`)

describe('logged off, flown, and back on the engine without an entry', () => {
  test.each(['reported', 'power'] as const)('a %s run that dries an engine ends the off', (basis) => {
    const { memory, events } = follow({ basis }, [OFF, FLIGHT])
    expect(memory.log).toMatchObject({ offSinceS: null, unansweredFlightAtS: null })
    expect(memory.log.offEndedAtS).toBeGreaterThan(BACK_S)
    expect(memory.log.offEndedAtS).toBeLessThan(BACK_S + 2 * HOUR_S)
    expect(leftOff(events)).toEqual(['raised note', 'over note'].slice(0, leftOff(events).length))
    expect(leftOff(events).join()).not.toContain('visit')
    // From the landing's flight to the end of the run, and not a day more.
    expect(memory.exposure.total.off / HOUR_S).toBeLessThan(7)
    expect(memory.rules.open).toEqual([])
  })

  test('its cycles and its water count from there on', () => {
    const { memory } = follow({}, [OFF, FLIGHT])
    const back = follow({}, [OFF, FLIGHT, { atS: BACK_S - 60, what: 'on', detail: {} }])
    expect(memory.totals.cycles).toBeGreaterThanOrEqual(back.memory.totals.cycles - 1)
    expect(memory.gate.isOpen).toBe(false)
    expect(memory.gate.eligibleFromS).toBe(null)
  })

  test.each<[string, Back, readonly LogEntry[]]>([
    ['a run of joined hoses on the bench, which dries ten times as fast', { kPerH: 30 }, [OFF, FLIGHT]],
    ['air as dry as the hangar is measured', { hangarPct: 11 }, [OFF, FLIGHT]],
    ['an inferred run', { basis: 'inferred' }, [OFF, FLIGHT]],
    ['a run while the aircraft is away', {}, [OFF, FLIGHT, { atS: LANDED_S + 60, what: 'away', detail: {} }]],
    [
      'a sensor in a salt pot',
      { days: 0.2 },
      [OFF, FLIGHT, { atS: LANDED_S + 60, what: 'salt-check', detail: { salt: 'LiCl' } }],
    ],
    ['a run without a flight', {}, [OFF]],
  ])('%s does not end it', (_, back, log) => {
    expect(follow(back, log).memory.log.offSinceS).toBe(OFF_S)
  })
})

describe('a pump that cycles while the logbook says off', () => {
  test.each(['reported', 'inferred'] as const)(
    'without a flight, %s, is a note that asks for the entry',
    (basis) => {
      const { memory, events } = follow({ basis }, [OFF])
      expect(leftOff(events)).toEqual(['raised note'])
      expect(memory.rules.open[0]?.evidence).toMatchObject({
        isCycling: true,
        offSinceS: OFF_S,
        flightAtS: null,
      })
      expect(memory.exposure.total.off / HOUR_S).toBeGreaterThan(90)
    },
  )

  test('is over with the entry', () => {
    const on: LogEntry = { atS: BACK_S + 3 * DAY_S, what: 'on', detail: {} }
    expect(leftOff(follow({}, [OFF, on]).events)).toEqual(['raised note', 'over note'])
  })

  test('after a flight says so where the runs are only inferred, and asks for no visit', () => {
    const { memory, events } = follow({ basis: 'inferred' }, [OFF, FLIGHT])
    expect(memory.rules.open.find(({ rule }) => rule === 'left-off')?.evidence['isCycling']).toBe(true)
    expect(leftOff(events)).toEqual(['raised note'])
  })

  test('with hoses joined on the bench is left off, and its runs are not denied', () => {
    const { memory, events } = follow({ basis: 'inferred', kPerH: 30, days: 2 }, [OFF, FLIGHT])
    expect(memory.log.offWatch).toMatchObject({ engineRuns: 0 })
    expect(leftOff(events)).toEqual(['raised note', 'changed visit'])
    const visit = events.find(({ urgency }) => urgency === 'visit')
    if (visit === undefined) throw new Error('no visit')
    expect(alertSentence(visit, PLAIN)).not.toContain('no run')
  })

  test.each([3, 4, 5])('at %d /h is counted without a report as with one', (kPerH) => {
    const inferred = follow({ basis: 'inferred', kPerH }, [OFF]).memory.log.offWatch
    const { runs, engineRuns } = follow({ basis: 'reported', kPerH }, [OFF]).memory.log.offWatch
    expect(inferred.runs).toBe(runs)
    // At 5 /h a run is three posts long, and what is slow is decided by one of them.
    expect(Math.abs(inferred.engineRuns - engineRuns)).toBeLessThanOrEqual(1)
  })

  test('is none while it is tried out for some hours, or draws air that the hangar may have', () => {
    expect(leftOff(follow({ days: 0.7 }, [OFF]).events)).toEqual([])
    expect(leftOff(follow({ hangarPct: 11 }, [OFF]).events)).toEqual([])
  })
})

test('who starts the pump on joined hoses and hooks up an hour later is back with the drop of that air', () => {
  const before = sawTooth({ days: DAYS }).filter(({ atS }) => atS <= OFF_S)
  const after: Reading[] = Array.from({ length: 12 * 8 }, (_, index) => {
    const minute = 5 * (index + 1)
    const dry = 12 + 76 * Math.exp(-(minute - 90) / 30)
    return {
      atS: OFF_S + minute * 60,
      place: 'return',
      humidityPct: minute < 90 ? 9 : Math.round(10 * dry) / 10,
      tempC: 15,
      pumpOn: true,
      powerW: null,
    }
  })
  const inputs = {
    readings: [...before, ...after],
    log: [{ atS: OFF_S + 10, what: 'flight' as const, detail: {} }],
    settings: [{ fromS: 0, settings: { ...SETTINGS, sensorSits: 'engine' as const } }],
  }
  const { memory } = advance(newMemory(DAY_ZERO_S - 300), inputs, OFF_S + 8 * HOUR_S)
  expect(memory.log.unansweredFlightAtS).toBe(null)
})
