/** What hubs post natively, and what they are answered. Other bodies are read by form, CSV, SenML or a recipe. */
import { z } from '@hono/zod-openapi'
import { place } from './rigs.ts'

const numberOrText = z.union([z.number(), z.string()])

export const nativeRecord = z
  .object({
    /** RFC 3339 with a zone, or a Unix number in seconds or milliseconds; missing: the time of receipt. */
    at: numberOrText.optional(),
    humidity: numberOrText.optional(),
    temperature: numberOrText.optional(),
    pump: z.union([z.boolean(), z.enum(['on', 'off']), z.literal(0), z.literal(1)]).optional(),
    power: numberOrText.optional(),
    place: place.optional(),
    rig: z.string().optional(),
  })
  .openapi('Reading', {
    example: { at: '2026-03-01T06:00:00Z', humidity: 11.4, temperature: 18.2, pump: true },
  })

export const nativeRecords = z.union([
  nativeRecord,
  z.array(nativeRecord),
  z.object({ readings: z.array(nativeRecord) }),
])

/** Which record, where in it, and what about it: `reason` is a stable word. */
const about = z.object({
  index: z.int(),
  pointer: z.string(),
  reason: z.string(),
  detail: z.string().optional(),
})

export const readingsAnswer = z
  .object({
    readAs: z.string(),
    received: z.int(),
    stored: z.int(),
    repeated: z.int(),
    setAsideTotal: z.int(),
    setAside: z.array(about),
    /** What was changed on the way in: a humidity a little over 100 is kept as 100. */
    notes: z.array(about).optional(),
    /** What the band asks for, from this post alone. It advises: the hub keeps its own band. */
    pump: z.enum(['run', 'rest']).nullable(),
  })
  .openapi('ReadingsAnswer')
