/** Results as the export of a hangar gives them, to be taken in where it is brought. Times are Unix seconds, as there. */
import { z } from '@hono/zod-openapi'
import type { RuleName } from '../../../core/fold/outputs.ts'
import { operation } from '../operation.ts'
import { time } from './common.ts'
import { urgency } from './alerts.ts'

const rules = [
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
] as const satisfies readonly RuleName[]

const seconds = z.int().nonnegative()
const known = z.number().nullable()
const text = z.string().max(200)

const pastCycle = z.object({
  atS: seconds,
  runFromS: seconds,
  runToS: seconds,
  basis: z.enum(['reported', 'power', 'inferred']),
  startPct: known,
  peakPct: known,
  endPct: known,
  apparentFloorPct: known,
  floorSePct: known,
  runTimeRatio: known,
  runMin: z.number(),
  restMin: z.number(),
  kPerH: known,
  ingressPerH: known,
  waterG: known,
  energyWh: known,
  tempC: known,
  daysSinceFlight: known,
  afterFlight: z.boolean(),
})

const interval = z.object({ low: z.number(), mid: z.number(), high: z.number() }).nullable()

const pastFill = z.object({
  fromS: seconds,
  toS: seconds.nullable(),
  jar: text.nullable(),
  beadMassG: known,
  beadKind: text,
  bakeTempC: known,
  flights: z.int(),
  takenUpByFlightsG: known,
  takenUpIdleG: known,
  forecast: z.object({
    takenUpG: interval,
    capacityG: interval,
    flightsLeft: interval,
    daysLeft: interval,
    emptyAtS: known,
    noFlightsUntilS: known,
  }),
})

const pastDay = z.object({
  fromS: seconds,
  under40: z.number(),
  from40to60: z.number(),
  from60to80: z.number(),
  over80: z.number(),
  wet: z.number(),
  gapsH: z.number(),
  offH: z.number(),
})

const pastRollup = z.object({
  place: z.enum(['return', 'supply', 'ambient', 'engine']),
  spanS: z.union([z.literal(3600), z.literal(86_400)]),
  fromS: seconds,
  humidityMeanPct: known,
  humidityMinPct: known,
  humidityMaxPct: known,
  densityMeanGm3: known,
  densityMinGm3: known,
  densityMaxGm3: known,
  tempMeanC: known,
  heardMin: z.number(),
})

const pastAlert = z.object({
  rule: z.enum(rules),
  urgency,
  sinceS: seconds,
  raisedAtS: seconds,
  overAtS: seconds.nullable(),
  overWhy: z.literal('late-input').nullable().default(null),
  seenAtS: seconds.nullable(),
  evidence: z.record(z.string().max(100), z.union([z.number(), text, z.boolean(), z.null()])),
})

export const historyOperations = {
  bringHistory: operation({
    method: 'post',
    path: '/v1/rigs/{rig}/history',
    access: 'keeper',
    summary:
      'Results older than the readings, as the export gives them; taken until the rig is checked for the first time',
    body: z.object({
      /** As the export's line of the rig says. */
      readingsFrom: time,
      checkedTo: time,
      cycles: z.array(pastCycle).default([]),
      fills: z.array(pastFill).default([]),
      exposureDays: z.array(pastDay).default([]),
      rollups: z.array(pastRollup).default([]),
      alerts: z.array(pastAlert).default([]),
    }),
    answer: z.object({ isTaken: z.literal(true) }),
  }),
} as const
