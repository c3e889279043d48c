import { describe, expect, test } from 'vitest'
import { vapourDensityGm3 } from '../../../src/core/air/vapour.ts'
import { forecastSentence, shortForecast } from '../../../src/core/words/forecast-sentence.ts'
import { rigSentence, type RigNow } from '../../../src/core/words/rig-sentence.ts'
import type { Tongue } from '../../../src/core/words/tongue.ts'
import { sampleAt } from '../rules/moment.ts'

const LISBON: Tongue = { zone: 'Europe/Lisbon', tempUnit: 'degC' }
const DENVER: Tongue = { zone: 'America/Denver', tempUnit: 'degF' }
/** 2026-03-02 01:30 in Lisbon, a Monday. */
const NOW_S = Date.parse('2026-03-02T01:30:00Z') / 1000
const at = (text: string): number => Date.parse(text) / 1000

describe('the forecast', () => {
  const forecast = {
    takenUpG: { low: 45, mid: 61, high: 85 },
    capacityG: { low: 150, mid: 210, high: 290 },
    flightsLeft: { low: 3.2, mid: 5, high: 8.1 },
    daysLeft: { low: 26, mid: 60, high: 100 },
    emptyAtS: NOW_S + 60 * 86_400,
    noFlightsUntilS: NOW_S + 200 * 86_400,
  }

  test('cannot be misread', () => {
    expect(forecastSentence(forecast, LISBON, NOW_S, 12)).toBe(
      'At your pace (a flight every 12 days): about 5 flights (3 to 8), about 1 May (late March to June). With no flights: until September. They have taken up 61 ± 20 g of about 210 ± 70 g.',
    )
  })

  test('without flights in the logbook it speaks of days', () => {
    const idle = { ...forecast, flightsLeft: null, emptyAtS: null, noFlightsUntilS: null, takenUpG: null }
    expect(forecastSentence(idle, LISBON, NOW_S)).toBe('At your pace: about 60 days.')
  })

  test('used up is said in the past', () => {
    const spent = { ...forecast, emptyAtS: NOW_S - 3 * 86_400 }
    expect(forecastSentence(spent, LISBON, NOW_S)).toMatch(
      /^By the ledger the beads were used up about 27 February\./u,
    )
    expect(shortForecast(spent, LISBON, NOW_S)).toBe('the beads are used up')
  })

  test('unknown is said, with what it takes', () => {
    expect(forecastSentence(null, LISBON, NOW_S)).toMatch(/^No forecast yet: it takes a bake/u)
  })
})

describe('a rig in a sentence', () => {
  const view: RigNow = {
    heardAtS: NOW_S - 120,
    latest: [sampleAt(NOW_S - 120, 9.6)],
    engineAir: {
      atS: at('2026-03-01T22:10:00Z'),
      humidityPct: 9,
      densityGm3: vapourDensityGm3(9, 18),
      tempC: 18,
    },
    metalTempC: 10.5,
    pump: { state: 'rest', basis: 'reported', sinceS: NOW_S - 12_000 },
    isGap: false,
    suspended: null,
    isWet: false,
    lastRunAtS: NOW_S - 12_000,
    open: [],
    forecast: null,
  }

  test('a pump that is only inferred seems to run', () => {
    const run = {
      ...view,
      pump: { state: 'run', basis: 'inferred', sinceS: at('2026-03-01T22:10:00Z') } as const,
    }
    expect(rigSentence(run, LISBON, NOW_S)).toContain('Pump seems to run since 22:10.')
    const told = { ...run, pump: { ...run.pump, basis: 'reported' } as const }
    expect(rigSentence(told, LISBON, NOW_S)).toContain('Pump on since 22:10.')
  })

  test('says when the air was sampled, and what it is at the metal', () => {
    expect(rigSentence(view, LISBON, NOW_S)).toBe(
      'Air 9 % at 18 °C when last sampled at 22:10; metal about 14 %.',
    )
    expect(rigSentence(view, DENVER, NOW_S)).toBe(
      'Air 9 % at 64 °F when last sampled at 15:10; metal about 14 %.',
    )
  })

  test('says that nothing was heard before anything else', () => {
    expect(
      rigSentence({ ...view, isGap: true, heardAtS: at('2026-03-01T23:00:00Z') }, LISBON, NOW_S),
    ).toMatch(/^Nothing heard since 23:00\. Air 9 %/u)
  })

  test.each([
    ['no-drop', 'the pump moves none of it'],
    ['open-loop', 'the loop is open'],
  ] as const)('with %s open nothing counts as sampled, and no bake is planned', (rule, why) => {
    const alert = { rule, urgency: 'now', sinceS: NOW_S - 9000, raisedAtS: NOW_S, evidence: {} } as const
    const forecast = {
      takenUpG: null,
      capacityG: null,
      flightsLeft: { low: 3, mid: 5, high: 8 },
      daysLeft: null,
      emptyAtS: null,
      noFlightsUntilS: null,
    }
    expect(rigSentence({ ...view, forecast }, LISBON, NOW_S)).toMatch(/5 flights/u)
    expect(rigSentence({ ...view, forecast, open: [alert] }, LISBON, NOW_S)).toBe(
      `9.6 % beside the pump at 01:28; the engine's air is not sampled, ${why}.`,
    )
  })

  test('does not take the box for the engine', () => {
    expect(rigSentence({ ...view, engineAir: null }, LISBON, NOW_S)).toBe(
      '9.6 % beside the pump at 01:28; engine air not sampled yet, the pump has not run.',
    )
  })

  test.each([
    ['a run', { pump: { ...view.pump, state: 'run' as const } }, 'Pump on since 22:10.'],
    ['a wet engine', { isWet: true }, 'Water is coming out: a high plateau is normal now.'],
    [
      'a long rest',
      { lastRunAtS: NOW_S - 30 * 3600 },
      "No run for 30 hours: ten minutes of pump would show the engine's air.",
    ],
    ['a salt check', { suspended: 'salt-check' as const }, 'Salt check: nothing is judged until it ends.'],
    ['rig off', { suspended: 'off' as const }, 'The rig is logged off: nothing is judged.'],
  ])('%s', (_, more, said) => {
    expect(rigSentence({ ...view, ...more }, LISBON, NOW_S)).toMatch(
      new RegExp(`${said.replaceAll('.', '\\.')}$`, 'u'),
    )
  })

  test('the beads come last', () => {
    const forecast = {
      takenUpG: null,
      capacityG: null,
      flightsLeft: { low: 3, mid: 5, high: 8 },
      daysLeft: null,
      emptyAtS: at('2026-04-14T12:00:00Z'),
      noFlightsUntilS: null,
    }
    expect(rigSentence({ ...view, forecast }, LISBON, NOW_S)).toMatch(
      / At your pace the beads are good for about 5 flights, about 14 April\.$/u,
    )
  })

  test('a rig that was never heard says just that', () => {
    expect(rigSentence({ ...view, heardAtS: null }, LISBON, NOW_S)).toBe('No reading has come yet.')
  })
})
