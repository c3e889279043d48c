/** Calls about hangars, their members and the links into them. */
import { z } from '@hono/zod-openapi'
import { operation } from '../operation.ts'
import { id, listOf, name, page, role, time, unit, zone } from './common.ts'
import { hangar, invite, link, me, member } from './people.ts'

const secretText = z.string().min(20).max(200)
export const inviteOperations = {
  inviteMember: operation({
    method: 'post',
    path: '/v1/hangars/{hangar}/invites',
    access: 'keeper',
    byToken: false,
    summary: 'Invite somebody: a link that works once',
    status: 201,
    body: z.object({ role, name: name.optional() }),
    answer: link,
  }),
  listInvites: operation({
    method: 'get',
    path: '/v1/hangars/{hangar}/invites',
    access: 'keeper',
    summary: 'Invites of this hangar',
    query: page,
    answer: listOf(invite),
  }),
  removeInvite: operation({
    method: 'delete',
    path: '/v1/hangars/{hangar}/invites/{invite}',
    access: 'keeper',
    summary: 'Take an invite back',
  }),
  inviteToHangars: operation({
    method: 'post',
    path: '/v1/invites',
    access: 'host',
    summary: 'A sign-in link for one person into several hangars',
    status: 201,
    body: z.object({
      hangars: z
        .array(z.object({ hangar: id, role }))
        .min(1)
        .max(100),
      name: name.optional(),
    }),
    answer: link,
  }),
  readInvite: operation({
    method: 'post',
    path: '/v1/invites/read',
    access: 'public',
    limited: true,
    writes: false,
    summary: 'What a link is for, without using it up',
    body: z.object({ token: secretText }),
    answer: z.object({
      /** `device`: signs a known person in here. */
      kind: z.enum(['join', 'device']),
      name: z.string().nullable(),
      hangars: z.array(z.object({ name, role })),
      expiresAt: time,
    }),
  }),
  acceptInvite: operation({
    method: 'post',
    path: '/v1/invites/accept',
    access: 'public',
    limited: true,
    summary: 'Use a link: signs in and joins; sets the session cookie',
    body: z.object({
      token: secretText,
      name: name.optional(),
      zone: zone.optional(),
      unit: unit.optional(),
    }),
    answer: me,
  }),
} as const

export const hangarOperations = {
  listHangars: operation({
    method: 'get',
    path: '/v1/hangars',
    access: 'person',
    summary: 'My hangars; all of them for the host',
    query: page,
    answer: listOf(hangar),
  }),
  addHangar: operation({
    method: 'post',
    path: '/v1/hangars',
    access: 'host',
    summary: 'Make a hangar',
    status: 201,
    /** `shard`: which database is to hold its rigs; left out, the newest one bound. */
    body: z.object({ name, shard: z.int().min(0).optional() }),
    answer: hangar,
  }),
  readHangar: operation({
    method: 'get',
    path: '/v1/hangars/{hangar}',
    access: 'watcher',
    whileDeleting: true,
    summary: 'One hangar',
    answer: hangar,
  }),
  changeHangar: operation({
    method: 'patch',
    path: '/v1/hangars/{hangar}',
    access: 'keeper',
    summary: 'Rename a hangar',
    body: z.object({ name }),
    answer: hangar,
  }),
  removeHangar: operation({
    method: 'delete',
    path: '/v1/hangars/{hangar}',
    access: 'keeper',
    whileDeleting: true,
    summary: 'Delete a hangar and all its data, in steps: call again until `isDone`',
    status: 202,
    /** The hangar's name, typed by a person who means it. */
    body: z.object({ name: z.string() }),
    answer: z.object({ isDone: z.boolean(), removed: z.int() }),
  }),
  listMembers: operation({
    method: 'get',
    path: '/v1/hangars/{hangar}/members',
    access: 'watcher',
    summary: 'Who belongs to this hangar',
    query: page,
    answer: listOf(member),
  }),
  changeMember: operation({
    method: 'patch',
    path: '/v1/hangars/{hangar}/members/{member}',
    access: 'keeper',
    byToken: false,
    summary: "Change a member's role",
    body: z.object({ role }),
    answer: member,
  }),
  removeMember: operation({
    method: 'delete',
    path: '/v1/hangars/{hangar}/members/{member}',
    access: 'watcher',
    summary: 'Remove a member, or leave',
  }),
} as const
