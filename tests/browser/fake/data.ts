/** Five rigs of an invented field, one a story, in the shapes the server answers with. */
import type {
  Alert,
  Cycle,
  Exposure,
  Fill,
  Forecast,
  LogEntry,
  Me,
  Now,
  Rig,
} from '../../../clients/web/src/shapes.ts'
import { iso, type Story } from './trace.ts'

const dayS = 86_400
export const band = { start: 15, stop: 6 }

export const me: Me = {
  kind: 'person',
  person: { id: 'p1', name: 'Ines', zone: 'Europe/Lisbon', unit: 'degC' },
  hangars: [{ id: 'h1', name: 'Sandmere, Row C', role: 'keeper' }],
}

export const rigs: Rig[] = ['Plover', 'Dunlin', 'Grebe', 'Wigeon', 'Teal'].map((name, i) => ({
  id: `r${i + 1}`,
  slug: name.toLowerCase(),
  name,
  hangar: 'h1',
  madeAt: '2025-03-02T10:00:00Z',
  settings: { band, beadMassG: 2000, beadKind: 'regular-gel', volumeL: 45, flowLPerMin: 2.5 },
}))

export const stories: Record<string, Story> = {
  r1: { deadAgoH: 11 },
  r2: {},
  r3: { flightAgoH: 50, hasAmbient: true },
  r4: {},
  r5: { silentAgoH: 5 },
}

export function alertsAt(nowS: number): Alert[] {
  return [
    {
      id: 'a2',
      rig: 'r2',
      rule: 'beads-spent',
      title: 'beads nearly used up',
      causes: ['Seven flights brought most of the water.'],
      notMeasured: ['The air leaving the column: there is no sensor at the supply.'],
      decides: 'Weighing the jar before and after the bake.',
      urgency: 'visit',
      state: 'seen',
      since: iso(nowS - 2 * dayS),
      raisedAt: iso(nowS - 2 * dayS),
      overAt: null,
      hangar: 'h1',
      overWhy: null,
      seenAt: null,
      sentence: 'Bake Dunlin’s beads: good for one more flight, or until about 3 December.',
      evidence: { by: 'ledger', takenUpG: 188, capacityG: 204, flightsLeftMid: 0.8, daysLeftMid: 8 },
      check: ['Bake the spare jar before you fly.', 'The colour may still look fine.'],
    },
    {
      id: 'a1',
      rig: 'r1',
      rule: 'no-drop',
      title: 'no drier, pump running',
      causes: ['The air goes somewhere else: a hose or the cap is off.', 'The pump turns but moves no air.'],
      notMeasured: ['The flow: there is no meter in the loop.'],
      decides: 'A hand on the return hose: air comes, or it does not.',
      urgency: 'now',
      state: 'open',
      since: iso(nowS - 11 * 3600),
      raisedAt: iso(nowS - 10 * 3600),
      overAt: null,
      hangar: 'h1',
      overWhy: null,
      seenAt: null,
      sentence:
        'Plover’s pump has run for 11 hours and the air is getting no drier: 28 % and rising. Left alone, the air at the coldest metal passes 40 % in 30 hours at the earliest.',
      evidence: {
        by: 'drop',
        runFromS: nowS - 11 * 3600,
        pumpBasis: 'reported',
        fromPct: 15.6,
        nowPct: 28,
        dropShare: 0.04,
        isFlat: false,
        powerW: 4.1,
        t40H: 30,
        metalPct: 31,
        assumed: null,
      },
      check: [
        'Is the hose still on at the column’s outlet?',
        'Is the column’s cap seated all round?',
        'Blow through the one-way valve: it can stick.',
      ],
    },
    {
      id: 'a3',
      rig: 'r5',
      rule: 'silent',
      title: 'nothing heard',
      causes: ['The hub or its network is down.'],
      notMeasured: ['Everything: nothing is heard.'],
      decides: 'Looking at the hub.',
      urgency: 'visit',
      state: 'open',
      since: iso(nowS - 5 * 3600),
      raisedAt: iso(nowS - 3 * 3600),
      overAt: null,
      hangar: 'h1',
      overWhy: null,
      seenAt: null,
      sentence: 'Nothing heard from Teal for 5 hours. It may still be drying; nobody can tell.',
      evidence: { lastHeardS: nowS - 5 * 3600, limitH: 1 },
      check: ['Is the hub powered and on the network?', 'Has its key been changed?'],
    },
  ]
}

const forecastOf = (nowS: number): Forecast => ({
  takenUpG: { low: 44, mid: 61, high: 81 },
  capacityG: { low: 140, mid: 210, high: 280 },
  flightsLeft: { low: 3, mid: 5, high: 8 },
  daysLeft: { low: 30, mid: 61, high: 96 },
  emptyAt: iso(nowS + 61 * dayS),
  noFlightsUntil: iso(nowS + 120 * dayS),
})

export function fillAt(nowS: number): Fill {
  return {
    from: iso(nowS - 16 * dayS),
    to: null,
    jar: 'B',
    beadMassG: 2000,
    beadKind: 'regular-gel',
    bakeTempC: 120,
    flights: 5,
    takenUpByFlightsG: 46,
    takenUpIdleG: 15,
    forecast: forecastOf(nowS),
  }
}

const sentences: Record<string, string> = {
  r1: 'Air 28 % at 14 °C when last sampled at 09:10; metal about 31 %. Pump on since yesterday 22:10.',
  r2: 'Air 12 % at 13 °C when last sampled at 03:40; metal about 14 %. At your pace the beads are good for about 1 flight.',
  r3: 'Air 9.1 % at 12 °C when last sampled at 06:10; metal about 11 %. At your pace the beads are good for about 5 flights, until about 25 January.',
  r4: 'Air 11 % at 14 °C when last sampled at 05:25; metal about 12 %.',
  r5: 'Nothing heard since 04:05. Air 13 % at 12 °C when last sampled at 01:40; metal about 15 %.',
}

export function nowOf(rig: string, nowS: number): Now {
  const isSilent = rig === 'r5'
  return {
    sentence: sentences[rig] ?? 'Nothing has been heard from this rig yet.',
    state: 'rest',
    heardAt: iso(nowS - (isSilent ? 5 * 3600 : 120)),
    checkedAt: iso(nowS - 120),
    assumed: rig === 'r4' ? ['The hangar’s air: 60 % at 15 °C, from the settings.'] : [],
    readings: [],
    fill: rig === 'r4' ? null : fillAt(nowS),
    forecast: rig === 'r4' ? null : forecastOf(nowS),
    forecastSentence:
      rig === 'r4'
        ? null
        : 'At your pace (a flight every 12 days) the beads are good for about 5 flights (3 to 8), until about 25 January.',
    floorTrend:
      rig === 'r4'
        ? null
        : {
            from: iso(nowS - 66 * 86_400),
            to: iso(nowS - 3 * 86_400),
            pctPerWeek: { low: 0.05, mid: 0.09, high: 0.14 },
            chance: 0.0025,
          },
    sensorSentence:
      rig === 'r3'
        ? 'The last salt check was not accepted: it was shorter than 8 hours. Nothing is corrected.'
        : null,
    floorTrendSentence:
      rig === 'r4'
        ? null
        : 'Over 9 weeks the floor that runs head for has risen by 0.09 % RH a week (0.05 to 0.1); chance alone would look so once in 400 times.',
    unknown: rig === 'r4' ? [{ what: 'Beads', why: 'their loading is known only after a bake' }] : [],
    alerts: alertsAt(nowS).filter((alert) => alert.rig === rig),
  }
}

export function cyclesAt(nowS: number): Cycle[] {
  return Array.from({ length: 14 }, (_, i) => ({
    at: iso(nowS - i * 30 * 3600),
    runFrom: iso(nowS - (i + 1) * 30 * 3600),
    runTo: iso(nowS - (i + 1) * 30 * 3600 + 24 * 60),
    basis: i === 3 ? 'inferred' : 'reported',
    startPct: i === 2 ? 97 : 15.6,
    peakPct: i === 2 ? null : 18.4,
    endPct: 6,
    apparentFloorPct: 4.1 + i * 0.05,
    floorSePct: 0.3,
    runTimeRatio: 1.1,
    runMin: i === 2 ? 410 : 24 + (i % 3),
    restMin: 1776,
    kPerH: 2.1,
    ingressPerH: 0.011,
    waterG: i === 2 ? 8.9 : 0.11,
    energyWh: 1.7,
    tempC: 14,
    daysSinceFlight: 6,
    afterFlight: i === 2,
  }))
}

export function exposureAt(nowS: number): Exposure {
  const hours = { under40: 668, from40to60: 21, from60to80: 9, over80: 7.5, wet: 6, gapsH: 9, offH: 6 }
  return { ...hours, from: iso(nowS - 30 * dayS), to: iso(nowS), days: [] }
}

export function logAt(nowS: number): LogEntry[] {
  return [
    {
      id: 'l1',
      by: 'p1',
      madeAt: iso(nowS - 50 * 3600),
      at: iso(nowS - 50 * 3600),
      what: 'flight',
      detail: { hours: '1.4' },
    },
    {
      id: 'l2',
      by: 'p1',
      madeAt: iso(nowS - 16 * dayS),
      at: iso(nowS - 16 * dayS),
      what: 'bake',
      detail: { tempC: '120', hours: '4', jar: 'B' },
    },
    {
      id: 'l3',
      by: 'p1',
      madeAt: iso(nowS - 30 * dayS),
      at: iso(nowS - 30 * dayS),
      what: 'note',
      detail: { text: 'New hose at the breather.' },
    },
  ]
}
