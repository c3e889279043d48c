/**
 * The demo's setting, all of it invented: an airfield that is on no map, three hangars, five rigs with one story
 * each. Tail marks begin with QX: no registry issues them, since call signs with Q are given to no country.
 */
import type { RigSettings } from '../../../src/core/fold/inputs.ts'
import { settingsOfPlan, typicalPlan, type Flight, type RigPlan } from '../../../src/core/rig/plan.ts'
import { CLIMATES } from '../../../src/core/rig/weather.ts'

const HOUR_S = 3600
const DAY_S = 24 * HOUR_S
/** How far back the demo begins, days. */
export const DEMO_DAYS = 90

export const DEMO_FIELD = 'Larkmoor Field'

export type Story = {
  readonly hangar: string
  readonly slug: string
  readonly name: string
  /** For the terminal and the tests: what the rig shows. */
  readonly about: string
  readonly planFor: (nowS: number) => RigPlan
}

/** Midnight 90 days before `nowS`: the plans count their days from there. */
export function demoStartS(nowS: number): number {
  return Math.floor(nowS / DAY_S) * DAY_S - DEMO_DAYS * DAY_S
}

export const STORIES: readonly Story[] = [
  {
    hangar: 'North Row',
    slug: 'qx-bra',
    name: 'QX-BRA',
    about: 'fresh beads, everything fine',
    planFor: (nowS) => {
      const plan = base(11, nowS)
      return {
        ...plan,
        flights: flightsOf(nowS, { everyDays: 13, firstDay: 4, waterG: 5, untilDaysAgo: 9 }),
        bakes: [1, 76].map((day) => bakeOn(nowS, day)),
      }
    },
  },
  {
    hangar: 'North Row',
    slug: 'qx-dun',
    name: 'QX-DUN',
    about: 'beads nearly used up',
    planFor: (nowS) => {
      const plan = base(23, nowS)
      return {
        ...plan,
        beads: { ...plan.beads, massG: 815 },
        leaks: { ...plan.leaks, engineLPerH: 4 },
        flights: flightsOf(nowS, { everyDays: 20, firstDay: 4, waterG: 9, untilDaysAgo: 4 }),
        bakes: [bakeOn(nowS, 1)],
        // A heated hangar: the story is the same in every season.
        climate: { ...CLIMATES.heated, meanC: 16, seasonK: 0, humidityPct: 50 },
      }
    },
  },
  {
    hangar: 'Old Barn',
    slug: 'qx-elm',
    name: 'QX-ELM',
    about: 'pump dead since last night',
    planFor: (nowS) => {
      const plan = base(37, nowS)
      return {
        ...plan,
        hub: { ...plan.hub, hasPower: true },
        // Breathes more than most, so that the pump is wanted several times a day.
        leaks: { ...plan.leaks, engineLPerH: 2.5, restLPerH: 0.4 },
        flights: flightsOf(nowS, { everyDays: 17, firstDay: 6, waterG: 6, untilDaysAgo: 12 }),
        bakes: [1, 60].map((day) => bakeOn(nowS, day)),
        faults: [{ kind: 'pump-dead', size: 1, fromS: nowS - 15 * HOUR_S, untilS: Number.MAX_SAFE_INTEGER }],
      }
    },
  },
  {
    hangar: 'Old Barn',
    slug: 'qx-fen',
    name: 'QX-FEN',
    about: 'back from a flight, still wet',
    planFor: (nowS) => {
      const plan = base(41, nowS)
      const landS = wholeStep(nowS - 6 * HOUR_S)
      const last: Flight = { ...flight(landS), onS: landS + 1.5 * HOUR_S, waterG: 14 }
      return {
        ...plan,
        flowLPerMin: 1.5,
        flights: [...flightsOf(nowS, { everyDays: 11, firstDay: 3, waterG: 6, untilDaysAgo: 6 }), last],
        bakes: [1, 50].map((day) => bakeOn(nowS, day)),
      }
    },
  },
  {
    hangar: 'Club Shed',
    slug: 'qx-hob',
    name: 'QX-HOB',
    about: 'hub silent',
    planFor: (nowS) => {
      const plan = base(53, nowS)
      return {
        ...plan,
        hub: { ...plan.hub, mode: 'on-change', everyS: 120, quietMaxS: 900 },
        flights: flightsOf(nowS, { everyDays: 20, firstDay: 8, waterG: 5, untilDaysAgo: 10 }),
        bakes: [1, 45].map((day) => bakeOn(nowS, day)),
        faults: [{ kind: 'silent', size: 1, fromS: nowS - 31 * HOUR_S, untilS: Number.MAX_SAFE_INTEGER }],
      }
    },
  },
]

function base(seed: number, nowS: number): RigPlan {
  return typicalPlan(seed, demoStartS(nowS))
}

function dayS(nowS: number, day: number, hour: number): number {
  return demoStartS(nowS) + day * DAY_S + hour * HOUR_S
}

function wholeStep(atS: number): number {
  return atS - (atS % 300)
}

function flight(landS: number): Flight {
  return {
    offS: landS - 1.5 * HOUR_S,
    landS,
    onS: landS + HOUR_S,
    waterG: 6,
    heatK: 60,
    isLogged: true,
    isRigLogged: true,
    hub: 'on',
  }
}

type Flying = { everyDays: number; firstDay: number; waterG: number; untilDaysAgo: number }

/** Regular flights in the afternoon, none in the last days so that they do not meddle with the story. */
function flightsOf(nowS: number, { everyDays, firstDay, waterG, untilDaysAgo }: Flying): Flight[] {
  const flights: Flight[] = []
  for (let day = firstDay; dayS(nowS, day, 15) < nowS - untilDaysAgo * DAY_S; day += everyDays) {
    flights.push({ ...flight(dayS(nowS, day, 15)), waterG })
  }
  return flights
}

function bakeOn(nowS: number, day: number) {
  return { atS: dayS(nowS, day, 17), tempC: 120, isLogged: true, isWeighed: true }
}

/** rig.json of a plan: what its owner would have written down. */
export function rigFileOf(settings: RigSettings): Record<string, unknown> {
  const { band, ambient, ...rest } = settings
  return {
    ...Object.fromEntries(Object.entries(rest).filter(([, value]) => value !== null)),
    band: { start: band.startPct, stop: band.stopPct },
    ...(ambient === null ? {} : { ambient: { humidity: ambient.humidityPct, temperature: ambient.tempC } }),
  }
}

export function settingsFor(plan: RigPlan): RigSettings {
  return settingsOfPlan(plan)
}
