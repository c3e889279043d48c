import * as z from 'zod'

const answerSchema = z.looseObject({
  readAs: z.string(),
  received: z.int(),
  stored: z.int(),
  repeated: z.int(),
  setAsideTotal: z.int(),
  setAside: z.array(
    z.looseObject({
      index: z.int(),
      pointer: z.string().optional(),
      reason: z.string(),
      detail: z.string().optional(),
    }),
  ),
  pump: z.enum(['run', 'rest']).nullable(),
})
export type Answer = z.infer<typeof answerSchema>

/** What the service says to a post that it took. Throws if it is not that. */
export const readAnswer = (text: string): Answer => answerSchema.parse(JSON.parse(text))
