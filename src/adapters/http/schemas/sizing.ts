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

/** Middle and 80 % range of each. */
export const sizingAnswer = z
  .object({
    dryDownH: interval.nullable(),
    runsPerWeek: interval,
    runMin: interval,
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
