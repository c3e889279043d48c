/** What a rig would do before it is built. */
import { z } from '@hono/zod-openapi'
import { operation } from '../operation.ts'
import { listOf } from './common.ts'
import { interval } from './rigs.ts'

/** `null` or left out: nobody knows, and the ranges are wider for it. */
const unknown = z.number().nullable().default(null)

export const sizingQuestion = z
  .object({
    volumeL: z.number(),
    flowLPerMin: z.number(),
    beadMassG: z.number(),
    beadKind: z.string().default('regular-gel'),
    band: z.object({ start: z.number(), stop: z.number() }),
    ambient: z.object({ humidity: z.number(), temperature: z.number() }),
    flightEveryDays: unknown,
    gPerFlight: unknown,
    leakLPerH: unknown,
    pumpW: unknown,
  })
  .openapi('SizingQuestion', {
    example: {
      volumeL: 45,
      flowLPerMin: 2.5,
      beadMassG: 2000,
      band: { start: 15, stop: 6 },
      ambient: { humidity: 60, temperature: 15 },
      flightEveryDays: 12,
    },
  })

const orEndless = z.number().nullable()
const openInterval = z
  .object({ low: orEndless, mid: orEndless, high: orEndless })
  .openapi('OpenInterval', { description: '`null` where there is no number, as it never ends.' })

/** Middle and 80 % range of each. */
export const sizingAnswer = z
  .object({
    neverRestsShare: z.number().min(0).max(1).openapi({
      description: 'Chance that the air settles at or above `stop` and the pump never rests',
    }),
    settlesPct: interval.openapi({ description: 'Where the air settles with the pump kept on, % RH' }),
    dryDownH: openInterval.nullable().openapi({ description: '`null` without flights' }),
    runsPerWeek: interval.openapi({
      description: 'Runs that end at `stop`: none of a loop that never rests',
    }),
    runMin: openInterval,
    idleGPerWeek: interval,
    flightsPerFill: interval.nullable(),
    daysPerFill: interval,
    capacityG: interval,
    whPerWeek: interval,
    dutyPct: interval,
    assumed: z.array(z.string()),
  })
  .openapi('SizingAnswer')

export const sizingOperations = {
  sizeRig: operation({
    method: 'post',
    path: '/v1/sizing',
    access: 'person',
    writes: false,
    summary: 'What a rig would do: dry-down time, runs, water and flights per fill, with ranges',
    body: sizingQuestion,
    answer: sizingAnswer,
  }),
  listBeadKinds: operation({
    method: 'get',
    path: '/v1/bead-kinds',
    access: 'person',
    summary: 'Kinds of beads that can be reckoned with, each with its published source',
    answer: listOf(z.object({ name: z.string(), says: z.string(), source: z.string() }).openapi('BeadKind')),
  }),
} as const
