import { z } from '@hono/zod-openapi'

/** A place in the request, RFC 6901, and what is wrong there; for a number out of its range, the range besides. */
export const problemPlace = z.object({
  pointer: z.string(),
  detail: z.string(),
  range: z.object({ min: z.number(), max: z.number() }).optional(),
})

export const problem = z
  .object({
    type: z.string(),
    title: z.string(),
    status: z.int(),
    detail: z.string().optional(),
    errors: z.array(problemPlace).optional(),
    /** Finds the log line of this request. */
    request: z.string().optional(),
  })
  .openapi('Problem')

export type ProblemPlace = z.infer<typeof problemPlace>
export type Problem = z.infer<typeof problem>
