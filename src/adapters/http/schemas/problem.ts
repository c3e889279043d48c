import { z } from '@hono/zod-openapi'

/** A place in the request, RFC 6901, and what is wrong there. */
export const problemPlace = z.object({ pointer: z.string(), detail: z.string() })

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

export type Problem = z.infer<typeof problem>
