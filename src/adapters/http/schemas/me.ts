/** Calls about oneself: devices, tokens, passkeys, signing in. */
import { z } from '@hono/zod-openapi'
import { TOKEN_LIFE_DEFAULT_S, TOKEN_LIFE_MAX_S } from '../../../core/limits.ts'
import { operation } from '../operation.ts'
import { listOf, name, page, unit, zone } from './common.ts'
import { link, me, passkey, person, session, token } from './people.ts'

/** What the browser's credential calls give and take; checked by the library that verifies it. */
const browserJson = z.record(z.string(), z.unknown())

export const meOperations = {
  readMe: operation({
    method: 'get',
    path: '/v1/me',
    access: 'person',
    summary: 'Who I am, my hangars and roles',
    answer: me,
  }),
  changeMe: operation({
    method: 'patch',
    path: '/v1/me',
    access: 'session',
    summary: 'My name, time zone and temperature unit',
    body: z.object({ name: name.optional(), zone: zone.optional(), unit: unit.optional() }),
    answer: person,
  }),
  removeMe: operation({
    method: 'delete',
    path: '/v1/me',
    access: 'session',
    summary: 'Leave all hangars and delete my account',
  }),
  makeDeviceLink: operation({
    method: 'post',
    path: '/v1/me/links',
    access: 'session',
    summary: 'A short-lived link that signs me in on another device',
    status: 201,
    answer: link,
  }),
  listSessions: operation({
    method: 'get',
    path: '/v1/sessions',
    access: 'session',
    summary: 'Devices on which I am signed in',
    query: page,
    answer: listOf(session),
  }),
  endSessions: operation({
    method: 'delete',
    path: '/v1/sessions',
    access: 'session',
    summary: 'Sign out everywhere',
  }),
  endSession: operation({
    method: 'delete',
    path: '/v1/sessions/{session}',
    access: 'session',
    summary: 'Sign one device out',
  }),
  signOut: operation({
    method: 'post',
    path: '/v1/sign-out',
    access: 'session',
    summary: 'Sign this device out',
  }),
  listTokens: operation({
    method: 'get',
    path: '/v1/tokens',
    access: 'session',
    summary: 'My personal tokens',
    query: page,
    answer: listOf(token),
  }),
  addToken: operation({
    method: 'post',
    path: '/v1/tokens',
    access: 'session',
    summary: 'Make a personal token; it is shown once',
    status: 201,
    body: z.object({
      name,
      may: z.enum(['read', 'write']),
      lifeS: z.int().min(60).max(TOKEN_LIFE_MAX_S).default(TOKEN_LIFE_DEFAULT_S),
    }),
    answer: token.extend({ token: z.string() }),
  }),
  removeToken: operation({
    method: 'delete',
    path: '/v1/tokens/{token}',
    access: 'session',
    summary: 'Revoke a personal token',
  }),
} as const

export const passkeyOperations = {
  listPasskeys: operation({
    method: 'get',
    path: '/v1/passkeys',
    access: 'session',
    summary: 'My passkeys',
    query: page,
    answer: listOf(passkey),
  }),
  askPasskey: operation({
    method: 'post',
    path: '/v1/passkeys/options',
    access: 'session',
    summary: 'Begin to add a passkey: options for the browser',
    answer: browserJson,
  }),
  addPasskey: operation({
    method: 'post',
    path: '/v1/passkeys',
    access: 'session',
    summary: 'Add the passkey that the browser made',
    status: 201,
    body: z.object({ name, response: browserJson }),
    answer: passkey,
  }),
  removePasskey: operation({
    method: 'delete',
    path: '/v1/passkeys/{passkey}',
    access: 'session',
    summary: 'Remove a passkey',
  }),
  askSignIn: operation({
    method: 'post',
    path: '/v1/sign-in/options',
    access: 'public',
    limited: true,
    summary: 'Begin to sign in with a passkey: options for the browser',
    answer: browserJson,
  }),
  signIn: operation({
    method: 'post',
    path: '/v1/sign-in',
    access: 'public',
    limited: true,
    summary: 'Sign in with a passkey; sets the session cookie',
    body: z.object({ response: browserJson }),
    answer: me,
  }),
} as const
