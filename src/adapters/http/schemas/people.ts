/** Persons, hangars, members, invites, sessions, passkeys, tokens. */
import { z } from '@hono/zod-openapi'
import { id, name, role, time, unit } from './common.ts'

export const person = z.object({ id, name, zone: z.string(), unit }).openapi('Person')
export const hangar = z.object({ id, name, madeAt: time, deletingSince: time.nullable() }).openapi('Hangar')
export const hangarOfMine = z.object({ id, name, role }).openapi('HangarOfMine')
export const member = z.object({ person: id, name, role, since: time }).openapi('Member')

export const me = z
  .object({
    kind: z.enum(['person', 'host']),
    /** `null` for the host token. */
    person: person.nullable(),
    hangars: z.array(hangarOfMine),
  })
  .openapi('Me')

export const invite = z
  .object({
    id,
    role: role.nullable(),
    name: z.string().nullable(),
    madeAt: time,
    expiresAt: time,
    usedAt: time.nullable(),
  })
  .openapi('Invite')

/** Shown once. `link` holds the token in its fragment, which no browser sends to a server. */
export const link = z.object({ id, link: z.string(), token: z.string(), expiresAt: time }).openapi('Link')
export const session = z
  .object({ id, label: z.string(), madeAt: time, seenAt: time, isThis: z.boolean() })
  .openapi('Session')
export const passkey = z
  .object({ id, name: z.string(), madeAt: time, usedAt: time.nullable() })
  .openapi('Passkey')
export const token = z
  .object({
    id,
    name: z.string(),
    may: z.enum(['read', 'write']),
    madeAt: time,
    expiresAt: time,
    usedAt: time.nullable(),
  })
  .openapi('PersonalToken')
