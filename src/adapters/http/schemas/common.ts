/** Pieces that every schema uses. */
import { z } from '@hono/zod-openapi'
import { NAME_MAX_CHARS, PAGE_DEFAULT, PAGE_MAX } from '../../../core/limits.ts'

/** RFC 3339 with a zone; comes out in UTC with `Z` and whole seconds. */
export const time = z.iso.datetime({ offset: true }).openapi({ example: '2026-03-01T06:00:00Z' })
export const name = z.string().trim().min(1).max(NAME_MAX_CHARS)
/** Stands in posts and addresses: lower case, digits and dashes. */
export const slug = z.string().regex(/^[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?$/, {
  message: 'Use 1 to 40 lower-case letters, digits and dashes, not at the ends.',
})
export const id = z.string()
export const role = z.enum(['keeper', 'watcher']).openapi('Role')
export const zone = z
  .string()
  .max(64)
  .refine(isZone, { message: 'Not a time zone name such as Europe/Lisbon.' })
export const unit = z.enum(['degC', 'degF'])

/** Lists page by cursor: give back `next` as `after`. */
export const page = z.object({
  after: z.string().max(200).optional(),
  limit: z.coerce.number().int().min(1).max(PAGE_MAX).default(PAGE_DEFAULT),
})

/** A period: `from` inclusive, `to` exclusive. */
export const span = z.object({ from: time.optional(), to: time.optional() })

export function listOf<T extends z.ZodType>(item: T) {
  return z.object({ items: z.array(item), next: z.string().nullable() })
}

function isZone(text: string): boolean {
  try {
    return new Intl.DateTimeFormat('en', { timeZone: text }).format(0) !== ''
  } catch {
    return false
  }
}
