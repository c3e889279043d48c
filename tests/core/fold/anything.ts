import type {
  DatedSettings,
  Inputs,
  LogEntry,
  Place,
  Reading,
  RigSettings,
} from '../../../src/core/fold/inputs.ts'
import { timestampText } from '../../../src/core/ingest/instant.ts'
import { type Model, MODELS, planOf, startSimulated } from '../../bench/simulated.ts'
import { seeded } from './saw-tooth.ts'

const DAY_S = 86_400
/** 2025-11-03T00:00:00Z. */
export const START_S = 1_762_128_000

type Chance = {
  readonly next: () => number
  readonly pick: <T>(of: readonly T[]) => T
  readonly aTime: () => number
}

function chanceOf(seed: number, days: number): Chance {
  const next = seeded(seed)
  return {
    next,
    pick: (of) => {
      const found = of[Math.floor(next() * of.length)]
      if (found === undefined) throw new RangeError('nothing to pick from')
      return found
    },
    aTime: () => START_S + Math.floor(next() * days * DAY_S),
  }
}

type Change = (reading: Reading, chance: Chance) => Partial<Reading> | null

const onlyReturn =
  (change: (humidityPct: number) => number): Change =>
  ({ place, humidityPct }) =>
    place === 'return' && humidityPct !== null ? { humidityPct: change(humidityPct) } : {}
const warmerBy =
  (kelvin: number): Change =>
  ({ tempC }) => ({ tempC: tempC === null ? null : Math.min(120, Math.max(-60, tempC + kelvin)) })

/** What may happen to a stretch of a trace: a reading becomes another, or is lost (`null`). */
const CHANGES: readonly Change[] = [
  () => null,
  (_, { next }) => (next() < 0.6 ? null : {}),
  () => ({ tempC: null }),
  () => ({ pumpOn: null, powerW: null }),
  ({ tempC }) => ({ humidityPct: null, tempC: tempC ?? 3 }),
  ({ place }) => (place === 'ambient' ? null : {}),
  ({ place }) => (place === 'ambient' ? { humidityPct: 0 } : {}),
  ({ pumpOn }) => ({ pumpOn: pumpOn === null ? null : !pumpOn }),
  ({ pumpOn }, { next }) => ({ pumpOn: pumpOn === null || next() > 0.1 ? pumpOn : !pumpOn }),
  (reading, { next }) => (next() < 0.01 ? onlyReturn(() => Math.floor(100 * next()))(reading, NEVER) : {}),
  onlyReturn((pct) => Math.max(0, pct - 14)),
  onlyReturn(() => 100),
  onlyReturn(() => 9),
  warmerBy(-40),
  warmerBy(60),
]
const NEVER: Chance = chanceOf(0, 1)

/** Records of another place or of the meter alone, a few seconds beside some of the readings. */
function besides(readings: readonly Reading[], { next, pick }: Chance): Reading[] {
  const place = pick<Place>(['ambient', 'supply', 'engine', 'return'])
  return readings.flatMap((reading): Reading[] => {
    if (reading.place !== 'return' || next() < 0.5) return []
    const { pumpOn } = reading
    const atS = reading.atS + pick([0, 2, 30])
    const meter = { atS, place, pumpOn, powerW: pumpOn === true ? 4 + next() : 0.2 }
    if (place === 'return') return [{ ...meter, atS: atS + 1, humidityPct: null, tempC: null }]
    const humidityPct = next() < 0.1 ? null : Math.round(1000 * next()) / 10
    return [{ ...meter, humidityPct, tempC: next() < 0.3 ? null : 10 + 5 * next() }]
  })
}

function traceOf(readings: readonly Reading[], chance: Chance): Reading[] {
  let trace = readings.map((reading) => ({ ...reading }))
  const stretches = 1 + Math.floor(4 * chance.next())
  for (let i = 0; i < stretches; i++) {
    const fromS = chance.pick(readings).atS
    const toS = fromS + chance.next() ** 2 * 10 * DAY_S
    const isIn = ({ atS }: Reading): boolean => atS >= fromS && atS < toS
    if (chance.next() < 0.25) trace.push(...besides(trace.filter(isIn), chance))
    const change = chance.pick(CHANGES)
    trace = trace.flatMap((reading) => {
      const changed = isIn(reading) ? change(reading, chance) : {}
      return changed === null ? [] : [Object.assign(reading, changed)]
    })
  }
  const byKey = new Map(trace.map((reading) => [`${reading.place} ${reading.atS}`, reading]))
  return [...byKey.values()].sort((a, b) => a.atS - b.atS)
}

const WHATS =
  'flight bake beads weighing salt-check floor-check loop-test preheat off on on away power-off sensor'

function detailOf(what: string, atS: number, { next, pick }: Chance): LogEntry['detail'] {
  const until = next() < 0.5 ? {} : { until: timestampText(atS + Math.floor(next() * 30 * 3600)) }
  switch (what) {
    case 'flight':
      return { hours: pick(['0', '0.3', '2.5', '24']) }
    case 'bake':
      return {
        beforeG: '2300',
        afterG: pick(['2000', '2250', '2400']),
        jar: pick(['', 'a', 'b', 'c', 'd', 'e']),
      }
    case 'beads':
      return { massG: pick(['', '10', '2000', '50000']), kind: pick(['', 'round-pore-gel', 'unknown']) }
    case 'weighing':
      return { grossG: String(3000 + Math.floor(next() * 500)) }
    case 'salt-check':
      return {
        ...until,
        salt: pick(['LiCl', 'MgCl2', 'NaCl', '']),
        ...pick([{}, { shownPct: '12', tempC: '20' }]),
      }
    case 'sensor':
      return { change: pick(['replaced', 'battery']) }
    default:
      return until
  }
}

function logOf(own: readonly LogEntry[], readings: readonly Reading[], chance: Chance): LogEntry[] {
  const log = [...own]
  const entries = Math.floor(14 * chance.next())
  for (let i = 0; i < entries; i++) {
    // Often at the very second of a reading or of another entry.
    const atS = chance.pick([chance.aTime(), chance.pick(readings).atS, log.at(-1)?.atS ?? START_S])
    const what = chance.pick(WHATS.split(' '))
    log.push({ atS, what, detail: detailOf(what, atS, chance) })
  }
  return log.sort((a, b) => a.atS - b.atS)
}

function settingsOf(own: RigSettings, { next, pick, aTime }: Chance): DatedSettings[] {
  const dated: DatedSettings[] = [{ fromS: START_S - DAY_S, settings: own }]
  const times = Array.from({ length: Math.floor(4 * next()) }, aTime).sort((a, b) => a - b)
  let settings = own
  for (const fromS of times) {
    const stopPct = pick([0.5, 3, 6, 20])
    const changed = pick<Partial<RigSettings>>([
      { band: { startPct: stopPct + pick([0.01, 1, 9, 40]), stopPct } },
      { flowLPerMin: pick([null, 0.05, 2, 100]) },
      { beadMassG: pick([null, 10, 1000, 50_000]) },
      { volumeL: pick([null, 1, 1000]) },
      { sensorSits: pick(['box', 'engine', null]) },
      { reportEveryS: pick([null, 60, 86_400]) },
      { ambient: pick([null, { humidityPct: 0, tempC: 40 }, { humidityPct: 100, tempC: -30 }]) },
      { pumpOnW: pick([null, 0, 1000]) },
      { switchTolPct: pick([0, 20]) },
    ])
    settings = Object.assign({}, settings, changed)
    dated.push({ fromS, settings })
  }
  return dated
}

/** A simulated rig whose trace, logbook and settings went through all that hubs and people may do to them. */
export function anything(seed: number, days: number): Inputs {
  const chance = chanceOf(seed, days)
  const model: Model = chance.pick(MODELS)
  const rig = startSimulated(model, planOf(model, 1 + Math.floor(1e5 * chance.next()), START_S, days))
  const out: { readings: Reading[]; log: LogEntry[] } = { readings: [], log: [] }
  rig.advance(START_S + days * DAY_S, out)
  const readings = traceOf(out.readings, chance)
  return {
    readings,
    log: logOf(out.log, readings.length > 0 ? readings : out.readings, chance),
    settings: settingsOf(rig.settings(), chance),
  }
}
