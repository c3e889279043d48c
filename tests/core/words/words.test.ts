import { describe, expect, test } from 'vitest'
import type { Evidence, OpenAlert, RuleName, Urgency } from '../../../src/core/fold/outputs.ts'
import {
  alertExplanation,
  alertSentence,
  alertTitle,
  firstChecks,
  overSentence,
  pushWords,
} from '../../../src/core/words/alert-words.ts'
import {
  date,
  moment,
  number,
  pct,
  roughDate,
  span,
  temp,
  type Tongue,
} from '../../../src/core/words/tongue.ts'

const LISBON: Tongue = { zone: 'Europe/Lisbon', tempUnit: 'degC' }
const DENVER: Tongue = { zone: 'America/Denver', tempUnit: 'degF' }
/** 2026-03-02 01:30 in Lisbon, a Monday. */
const NOW_S = Date.parse('2026-03-02T01:30:00Z') / 1000
const at = (text: string): number => Date.parse(text) / 1000

function alertOf(
  rule: RuleName,
  evidence: Evidence,
  urgency: Urgency = 'visit',
  sinceS = NOW_S - 12_000,
): OpenAlert {
  return { rule, urgency, sinceS, raisedAtS: NOW_S, evidence }
}

describe('times as people write them', () => {
  test.each([
    ['the same evening, across midnight', '2026-03-01T22:10:00Z', LISBON, '22:10'],
    ['earlier in the week', '2026-02-26T16:40:00Z', LISBON, 'Thu 16:40'],
    ['long ago in the same year', '2026-01-14T16:40:00Z', LISBON, '14 January'],
    ['another year', '2024-12-14T12:00:00Z', LISBON, '14 December 2024'],
    ['a zone seven hours behind', '2026-03-01T22:10:00Z', DENVER, '15:10'],
    [
      'an unknown zone is read as UTC and said so',
      '2026-03-02T01:10:00Z',
      { ...LISBON, zone: 'No/Where' },
      '01:10 UTC',
    ],
  ])('%s', (_, then, tongue, said) => {
    expect(moment(at(then), tongue, NOW_S)).toBe(said)
  })

  test('summer time is the zone own', () => {
    expect(moment(at('2026-07-01T05:00:00Z'), LISBON, at('2026-07-01T06:00:00Z'))).toBe('06:00')
  })

  test('dates ahead are as rough as they are known', () => {
    expect(date(at('2026-03-14T12:00:00Z'), LISBON, NOW_S)).toBe('14 March')
    expect(roughDate(at('2026-03-28T12:00:00Z'), LISBON, NOW_S)).toBe('late March')
    expect(roughDate(at('2026-04-05T12:00:00Z'), LISBON, NOW_S)).toBe('early April')
    expect(roughDate(at('2026-07-05T12:00:00Z'), LISBON, NOW_S)).toBe('July')
    expect(roughDate(at('2027-07-05T12:00:00Z'), LISBON, NOW_S)).toBe('July 2027')
  })
})

test('numbers carry their unit and no more digits than they deserve', () => {
  expect([pct(9), pct(9.44), pct(15.25), pct(62.3)]).toEqual(['9 %', '9.4 %', '15.3 %', '62 %'])
  expect([temp(18, LISBON), temp(18, DENVER), temp(-0.2, LISBON)]).toEqual(['18 °C', '64 °F', '0 °C'])
  expect([span(0.5), span(20.2), span(75), span(24 * 150)]).toEqual([
    '30 minutes',
    '20 hours',
    '3 days',
    '5 months',
  ])
  expect(number(-0.01, 1)).toBe('0')
})

const NO_DROP = alertOf(
  'no-drop',
  {
    by: 'drop',
    runFromS: at('2026-03-01T22:10:00Z'),
    pumpBasis: 'reported',
    fromAtS: at('2026-03-01T22:20:00Z'),
    fromPct: 15.2,
    nowAtS: at('2026-03-02T01:25:00Z'),
    nowPct: 15.1,
    tempC: 12,
    surgePct: 0.1,
    isFlat: false,
    powerW: null,
    usualPowerW: null,
    metalPct: 16,
    metalLimitPct: 90,
    t40H: 20.4,
    assumed: "the rig's climate",
  },
  'now',
)

describe('a dead pump', () => {
  test('in a sentence', () => {
    expect(alertSentence(NO_DROP, LISBON)).toBe(
      'The pump is on since 22:10 and the air is not getting drier: 15.2 % at 22:20, 15.1 % at 01:25. Left alone, the air at the coldest metal passes 40 % in 20 hours at the earliest.',
    )
  })

  test('in another zone', () => {
    expect(alertSentence(NO_DROP, DENVER)).toContain('on since 15:10')
  })

  test('told by its power', () => {
    const alert = alertOf(
      'no-drop',
      { ...NO_DROP.evidence, by: 'power', powerW: 0.31, usualPowerW: 4.1 },
      'now',
      at('2026-03-02T01:10:00Z'),
    )
    expect(alertSentence(alert, LISBON)).toMatch(
      /^The pump is on and draws 0\.3 W instead of 4\.1 W since 01:10\./u,
    )
    expect(alertTitle(alert)).toBe('the pump draws the wrong power')
  })

  test('explained: causes in order, what was not measured, the test that decides', () => {
    const explained = alertExplanation(NO_DROP, LISBON)
    expect(explained.causes[0]).toBe(
      'The pump is dead: the short rise that engine air brings at the start did not come either.',
    )
    expect(explained.notMeasured).toEqual([
      'Whether the motor turns: the outlet says only that it is on.',
      "The hangar air: taken from the rig's climate.",
    ])
    expect(explained.decides).toContain('outlet of the pump')
  })

  test('with a surge at the start a hose is likelier; with a reading that never moved, the sensor', () => {
    const evidence = { ...NO_DROP.evidence, surgePct: 4 }
    const { causes } = alertExplanation(alertOf('no-drop', evidence), LISBON)
    expect(causes[0]).toMatch(/^A hose or cap is off/u)
    expect(causes.at(-1)).toMatch(/^The beads are used up/u)
    const flat = { ...NO_DROP.evidence, isFlat: true }
    expect(alertExplanation(alertOf('no-drop', flat), LISBON).causes[0]).toMatch(/^The sensor stands still/u)
    expect(firstChecks('no-drop', flat)).toContain(
      'Does the sensor show another number when you breathe on it?',
    )
  })

  test('the push form is short, says the urgency in words, and ends at a sentence', () => {
    const { title, body } = pushWords(NO_DROP, 'XQ-7TB', LISBON)
    expect(title).toBe('XQ-7TB: pump on, air not getting drier')
    expect(body).toBe(
      'Drive out now. The pump is on since 22:10 and the air is not getting drier: 15.2 % at 22:20, 15.1 % at 01:25. Left alone, the air at the coldest metal passes 40 % in 20 hours at the earliest.',
    )
    expect(body.length).toBeLessThanOrEqual(200)
  })

  test('a sentence that does not fit is left out whole', () => {
    const alert = alertOf(
      'stuck-running',
      { nowPct: 10.1, stopPct: 12.5 },
      'visit',
      at('2026-02-10T08:00:00Z'),
    )
    expect(pushWords(alert, 'XQ-7TB', LISBON).body).toBe(
      'On your next visit. The air is at 10.1 %, below the 12.5 % at which the pump should stop, since 10 February, and the pump runs on.',
    )
  })

  test('a long name gives way, not the fault', () => {
    const { title } = pushWords(NO_DROP, 'The blue one in the third hangar behind the fuel', LISBON)
    expect(title.length).toBeLessThanOrEqual(60)
    expect(title).toMatch(/: pump on, air not getting drier$/u)
  })

  test('over', () => {
    const over = {
      ...NO_DROP,
      atS: NOW_S,
      event: 'over' as const,
      evidence: { ...NO_DROP.evidence, endedBy: 'drop', nowPct: 8.9 },
    }
    expect(alertSentence(over, LISBON)).toBe('The air gets drier again: 8.9 % with the pump on.')
    expect(pushWords(over, 'XQ-7TB', LISBON)).toEqual({
      title: 'XQ-7TB: over',
      body: 'The air gets drier again: 8.9 % with the pump on. Was: pump on, air not getting drier.',
    })
  })
})

test.each<[string, OpenAlert, string]>([
  [
    'silent',
    alertOf('silent', {
      lastHeardS: at('2026-03-01T22:55:00Z'),
      lastPct: 8,
      limitH: 2,
      otherHeardS: null,
      nowAfterS: 0,
    }),
    'No reading of the return air since 22:55 (8 % then). Nobody knows how the engine is.',
  ],
  [
    'silent return sensor, hub alive',
    alertOf('silent', {
      lastHeardS: at('2026-03-01T22:55:00Z'),
      lastPct: null,
      otherHeardS: at('2026-03-02T01:25:00Z'),
    }),
    'No reading of the return air since 22:55. Another sensor of this rig was heard at 01:25. Nobody knows how the engine is.',
  ],
  [
    'open loop',
    alertOf(
      'open-loop',
      { by: 'ambient', nowPct: 61, nowAtS: NOW_S, ambientPct: 63, gPerH: 1.23, daysUntilFull: 6.1 },
      'now',
      at('2026-03-02T00:50:00Z'),
    ),
    "With the pump on, the air coming back reads 61 % since 00:50, like the hangar's 63 %. That costs the beads 1.2 g an hour: full in about 6 days.",
  ],
  [
    'open loop, with beads that have no room',
    alertOf('open-loop', { by: 'ambient', nowPct: 61, ambientPct: 63, gPerH: 1.23, daysUntilFull: 0 }, 'now'),
    "With the pump on, the air coming back reads 61 % since 22:10, like the hangar's 63 %. That costs the beads 1.2 g an hour: they are full by now.",
  ],
  [
    'dead pump of which nothing is reported',
    alertOf('no-drop', {
      runFromS: at('2026-03-01T22:10:00Z'),
      pumpBasis: 'inferred',
      fromAtS: at('2026-03-01T22:20:00Z'),
      fromPct: 15.2,
      nowAtS: at('2026-03-02T01:25:00Z'),
      nowPct: 15.1,
    }),
    'The pump seems to run since 22:10 and the air is not getting drier: 15.2 % at 22:20, 15.1 % at 01:25.',
  ],
  [
    'logged off, and in use',
    alertOf(
      'left-off',
      { isCycling: true, offSinceS: at('2026-02-28T13:20:00Z'), flightAtS: null, pumpBasis: 'reported' },
      'note',
    ),
    'The logbook says the rig is off since Sat 13:20, but its pump cycles and dries: if it is back on the engine, enter `on`.',
  ],
  [
    'logged off, flown, and perhaps in use',
    alertOf('left-off', {
      isCycling: true,
      offSinceS: at('2026-02-28T09:20:00Z'),
      flightAtS: at('2026-02-28T13:20:00Z'),
      pumpBasis: 'inferred',
    }),
    'The logbook says the rig is off since Sat 09:20, but its pump seems to cycle and dry: if it is back on the engine, enter `on`. It has flown at Sat 13:20.',
  ],
  [
    'logged off, flown, and too little to tell by',
    alertOf('left-off', {
      isCycling: false,
      isLoggedOff: true,
      runs: 2,
      waitedH: 36,
      flightAtS: at('2026-02-28T13:20:00Z'),
      pumpBasis: 'inferred',
    }),
    'Flown at Sat 13:20, and nothing is entered of the rig being back after 36 hours. Its pump seems to have dried air 2 times since, as it also would on joined hoses: if it is back on the engine, enter `on`.',
  ],
  [
    'outlet does not start',
    alertOf(
      'wet-and-idle',
      { nowPct: 21, startPct: 15, metalPct: 24, t40H: null, metalLimitPct: 38 },
      'visit',
      at('2026-03-01T22:10:00Z'),
    ),
    'The air is at 21 %, above the 15 % at which the pump should start, since 22:10, and the pump rests. In this hangar air the coldest metal stays under 40 % (about 38 % at most).',
  ],
  [
    'outlet does not stop',
    alertOf('stuck-running', { nowPct: 3.1, stopPct: 6 }, 'visit', at('2026-02-28T08:00:00Z')),
    'The air is at 3.1 %, below the 6 % at which the pump should stop, since Sat 08:00, and the pump runs on. The engine is not at risk; the pump wears and any leak feeds the beads.',
  ],
  [
    'band not reached',
    alertOf('band-not-reached', { ranH: 30, neededH: 3.2, nowPct: 8.4, stopPct: 6 }),
    'The pump has run for 30 hours, where 3 hours should do, and the air has settled at 8.4 %, above the 6 % at which it stops.',
  ],
  [
    'rising floor',
    alertOf('floor-rising', { by: 'run-time', runTimeRatio: 2.34 }),
    'The runs now take 2.3 times as long as in the first two weeks of these beads.',
  ],
  [
    'beads',
    alertOf('beads-spent', {
      by: 'flights',
      flightsLeftMid: 1.2,
      takenUpG: 172,
      capacityG: 180,
      emptyAtS: at('2026-03-14T12:00:00Z'),
    }),
    'The beads are good for about one more flight, about 14 March. They have taken up 172 g of about 180 g.',
  ],
  [
    'leak',
    alertOf(
      'leak',
      { by: 'change', timesUsual: 5.26, ingressLPerH: 6.31, metalPct: 12, t40H: 9 },
      'now',
      at('2026-02-27T10:00:00Z'),
    ),
    'Hangar air gets in 5.3 times as fast as usual on this rig since Fri 10:00. About 6.3 L of hangar air an hour. Left alone, the air at the coldest metal passes 40 % in 9 hours at the earliest.',
  ],
  [
    'frozen',
    alertOf(
      'frozen',
      { pct: 9.3, hours: 31, expectedPct: 1.4, expectedBy: 'warmth' },
      'visit',
      at('2026-02-28T18:00:00Z'),
    ),
    'The sensor has said 9.3 % for 31 hours, since Sat 18:00; the change of temperature should have moved it by 1.4 %.',
  ],
  [
    'left off',
    alertOf('left-off', { flightAtS: at('2026-02-28T13:20:00Z'), waitedH: 36.1 }),
    'Flown at Sat 13:20, and the rig is not back on the engine after 36 hours: no entry, and no run that shows it.',
  ],
  [
    'wet after a flight',
    alertOf(
      'wet-after-flight',
      { nowPct: 98, openedAtS: at('2026-03-01T22:10:00Z'), expectedH: 11, movedG: 0.4 },
      'note',
    ),
    'Water of the flight is coming out: a plateau of 98 %, as at 22:10, is normal; at this flow and temperature it takes about 11 hours.',
  ],
  [
    'beads swapped?',
    alertOf(
      'swapped',
      {
        offAtS: at('2026-02-27T10:00:00Z'),
        isQuicker: true,
        floorBeforePct: 5.2,
        floorAfterPct: 1.4,
      },
      'note',
    ),
    'The runs are suddenly much shorter, heading for 1.4 % instead of 5.2 %, since the rig was off at Fri 10:00. Were the beads changed or baked then? Enter it; until then there is no forecast.',
  ],
  [
    'beads swapped, only the floor fell',
    alertOf(
      'swapped',
      {
        offAtS: at('2026-02-27T10:00:00Z'),
        isQuicker: false,
        floorBeforePct: 5.2,
        floorAfterPct: 1.4,
      },
      'note',
    ),
    'The runs are suddenly heading for 1.4 % instead of 5.2 % since the rig was off at Fri 10:00. Were the beads changed or baked then? Enter it; until then there is no forecast.',
  ],
  [
    'beads swapped, by the ledger',
    alertOf(
      'swapped',
      { by: 'ledger', usedUpAtS: at('2026-02-12T10:00:00Z'), takenUpG: 150, endPct: 6.1, stopPct: 6 },
      'note',
    ),
    'By the water counted these beads are used up since 12 February, and yet runs still end at 6.1 %. Were they changed or baked without an entry? Enter it; until then there is no forecast.',
  ],
  [
    'beads, by a floor check',
    alertOf('beads-spent', {
      by: 'floor-check',
      floorCheckPct: 8.1,
      stopPct: 6,
      flightsLeftMid: 43,
      takenUpG: 3.7,
      capacityG: 140,
    }),
    'With the pump kept on, the air settled at 8.1 %, above the 6 % at which a run should end. They have taken up 3.7 g of about 140 g.',
  ],
  [
    'beads, by their front',
    alertOf('beads-spent', { by: 'front', flightsLeftMid: 2.2, takenUpG: 83, capacityG: 101 }),
    'The beads are good for about 2 more flights. By the length of the runs, the air leaving them has begun to rise. They have taken up 83 g of about 101 g.',
  ],
  [
    'jumps',
    alertOf('implausible', { spikes: 3, spikePct: 84, spikeC: null }, 'note'),
    '3 times within a day a single reading jumped away (to 84 %) and back, as no air does.',
  ],
])('the sentence of: %s', (_, alert, said) => {
  expect(alertSentence(alert, LISBON, NOW_S)).toBe(said)
})

test('temperatures are said in the person own unit', () => {
  const evidence = { ambientPct: 88, ambientTempC: 16, metalTempC: 9, metalPct: 130, withLeak: false }
  const alert = alertOf('condensing', evidence, 'note', at('2026-03-01T20:00:00Z'))
  expect(alertSentence(alert, LISBON)).toBe(
    'The hangar air (88 % at 16 °C) leaves dew on the engine, still at about 9 °C, since 20:00, and the rig is off.',
  )
  expect(alertSentence(alert, DENVER)).toContain(
    '(88 % at 61 °F) leaves dew on the engine, still at about 48 °F, since 13:00',
  )
})

const RULES: readonly RuleName[] = [
  'no-drop',
  'band-not-reached',
  'floor-rising',
  'beads-spent',
  'leak',
  'open-loop',
  'wet-and-idle',
  'stuck-running',
  'silent',
  'frozen',
  'implausible',
  'left-off',
  'wet-after-flight',
  'condensing',
  'swapped',
]

describe.each(RULES)('the words of %s', (rule) => {
  test('hold their lengths and never claim a dry engine, even when all evidence is missing', () => {
    const alert = alertOf(rule, {}, 'now')
    const explained = alertExplanation(alert, LISBON)
    const { title, body } = pushWords(alert, 'XQ-7TB', LISBON)
    const all = [
      explained.seen,
      ...explained.causes,
      ...explained.notMeasured,
      explained.decides,
      ...explained.checks,
      overSentence(alert, LISBON),
    ]
    expect(alertTitle(alert).length).toBeLessThanOrEqual(40)
    expect(title.length).toBeLessThanOrEqual(60)
    expect(body.length).toBeLessThanOrEqual(200)
    for (const sentence of all) {
      expect(sentence).not.toMatch(/engine is dry|undefined|NaN|null|Infinity/iu)
      expect(sentence).toMatch(/[.?]$/u)
    }
    expect(explained.causes.length).toBeGreaterThan(0)
    expect(explained.checks.length).toBeGreaterThan(0)
  })
})

test.each<[RuleName, RegExp, RegExp]>([
  ['no-drop', /propeller as live/u, /hoses on/u],
  ['open-loop', /propeller as live/u, /hose from the engine/u],
  ['leak', /propeller as live/u, /dipstick seated/u],
  ['band-not-reached', /propeller as live/u, /plugs tight/u],
  ['left-off', /engine is cool/u, /Hook up/u],
  ['left-off', /propeller as live/u, /Hook up/u],
  ['wet-and-idle', /fuel vapour/u, /switched by hand/u],
])('in the checks of %s the caution %s stands before the work %s', (rule, caution, work) => {
  const checks = firstChecks(rule, {})
  const cautionAt = checks.findIndex((c) => caution.test(c))
  expect(cautionAt).toBeGreaterThanOrEqual(0)
  expect(cautionAt).toBeLessThan(checks.findIndex((c) => work.test(c)))
})

test('baking is never sent to a kitchen or a flame', () => {
  expect(firstChecks('beads-spent', {}).join(' ')).toMatch(/never gas, open flame or a kitchen/u)
})

test('a cause is claimed at 0.8 probability, else it says that it cannot tell', () => {
  const shares = { beadsShare: 0.85, leakShare: 0.05, suctionLeakShare: 0.06, sensorShare: 0.04 }
  expect(alertExplanation(alertOf('floor-rising', shares), LISBON).causes[0]).toBe(
    'The beads are nearly used up (85 in 100).',
  )
  const even = { beadsShare: 0.5, leakShare: 0.05, suctionLeakShare: 0.3, sensorShare: 0.15 }
  expect(alertExplanation(alertOf('floor-rising', even), LISBON).causes[0]).toBe(
    "Can't tell yet which of these it is.",
  )
})
