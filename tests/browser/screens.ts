/** Every screen and every state of it that a person can meet: the list that tests and pictures share. */
import type { Overrides } from './fake/api.ts'
import { nowOf } from './fake/data.ts'

export type Screen = {
  name: string
  path: string
  /** Words that are there once the screen is. */
  says: string | RegExp
  overrides?: Overrides
}

const empty = (): { body: unknown } => ({ body: { items: [], next: null } })

/** Every rig set up, none ever heard, and no device that would be told. */
const unheard: Overrides = {
  'GET /v1/alerts': empty,
  'GET /v1/devices': empty,
  'GET /v1/rigs/*/now': () => ({
    body: { ...nowOf('r4', 0), sentence: 'No reading has come yet.', heardAt: null, alerts: [] },
  }),
  'GET /v1/rigs/*/trace': () => ({ body: { series: [], gaps: [], runs: [], marks: [], basis: 'days' } }),
  'GET /v1/rigs/*/cycles': empty,
}

export const screens: Screen[] = [
  { name: 'jobs', path: '/', says: 'One thing cannot wait, two can.' },
  {
    name: 'jobs-none',
    path: '/',
    says: 'Nothing has to be done.',
    overrides: { 'GET /v1/alerts': empty },
  },
  {
    name: 'jobs-no-rig',
    path: '/',
    says: 'Nothing to watch yet.',
    overrides: { 'GET /v1/alerts': empty, 'GET /v1/hangars/*/rigs': empty },
  },
  { name: 'jobs-unheard', path: '/', says: 'Nothing is watched yet.', overrides: unheard },
  {
    name: 'jobs-error',
    path: '/',
    says: 'Try again',
    overrides: { 'GET /v1/alerts': () => ({ status: 429, body: { title: 'Too many requests' } }) },
  },
  {
    name: 'jobs-loading',
    path: '/',
    says: /Reading the jobs/,
    overrides: { 'GET /v1/alerts': () => 'hang' },
  },
  {
    name: 'jobs-unchecked',
    path: '/',
    says: /Not checked since/,
    overrides: {
      'GET /healthz': () => ({
        status: 503,
        body: { ok: false, checkedAt: new Date(Date.now() - 3 * 3600_000).toISOString() },
      }),
    },
  },
  { name: 'rigs', path: '/rigs', says: 'Three rigs need you.' },
  {
    name: 'rigs-none',
    path: '/rigs',
    says: 'No rig here yet.',
    overrides: { 'GET /v1/alerts': empty, 'GET /v1/hangars/*/rigs': empty },
  },
  { name: 'rigs-unheard', path: '/rigs', says: 'Nothing is watched yet.', overrides: unheard },
  { name: 'rig', path: '/rigs/r3', says: 'Wetness' },
  { name: 'rig-urgent', path: '/rigs/r1', says: 'Drive out now' },
  { name: 'rig-silent', path: '/rigs/r5', says: /Nothing heard from Teal/ },
  { name: 'rig-unknown', path: '/rigs/r4', says: 'What cannot be told' },
  {
    name: 'rig-not-there',
    path: '/rigs/zz',
    says: 'This is not here, or not yours to see.',
    overrides: {
      'GET /v1/rigs/*': () => ({ status: 404, body: {} }),
      'GET /v1/rigs/*/now': () => ({ status: 404, body: {} }),
    },
  },
  { name: 'before-flight', path: '/rigs/r3/before-flight', says: 'Before Grebe flies' },
  { name: 'record', path: '/rigs/r3/record', says: /hours, of which/ },
  { name: 'record-unheard', path: '/rigs/r4/record', says: /^Never heard/, overrides: unheard },
  { name: 'rig-unheard', path: '/rigs/r4', says: 'Connect its hub', overrides: unheard },
  { name: 'settings', path: '/rigs/r3/settings', says: 'Dry beads, g' },
  { name: 'guide-bake', path: '/rigs/r3/guide/bake', says: 'Take the jar out' },
  { name: 'guide-salt-check', path: '/rigs/r3/guide/salt-check', says: 'Take the sensor out' },
  { name: 'guide-weigh', path: '/rigs/r3/guide/weigh', says: 'Take the jar out' },
  { name: 'guide-floor-check', path: '/rigs/r3/guide/floor-check', says: 'Keep the pump on' },
  { name: 'guide-loop-test', path: '/rigs/r3/guide/loop-test', says: 'Take the engine out of the loop' },
  { name: 'logbook', path: '/logbook?rig=r3', says: 'New hose at the breather.' },
  {
    name: 'logbook-empty',
    path: '/logbook?rig=r3',
    says: /Nothing entered yet/,
    overrides: { 'GET /v1/rigs/*/logbook': empty },
  },
  { name: 'log-choose', path: '/logbook/new?rig=r3', says: 'What was done to Grebe?' },
  { name: 'log-flight', path: '/logbook/new?rig=r3&what=flight', says: 'In the air' },
  { name: 'log-bake', path: '/logbook/new?rig=r3&what=bake', says: 'Jar after the bake' },
  { name: 'hubs', path: '/hub', says: 'Posts, key and recipe' },
  { name: 'hub', path: '/hub/so1', says: 'JSON, the key in a header' },
  {
    name: 'hub-no-post',
    path: '/hub/so1',
    says: /Waiting for a post/,
    overrides: { 'GET /v1/sources/*/posts': empty },
  },
  { name: 'start', path: '/start', says: 'Make the rig' },
  { name: 'start-hub', path: '/start?rig=r3', says: 'Connect a hub' },
  { name: 'start-reading', path: '/start?rig=r3&hub=so1', says: '3. The first reading' },
  { name: 'compare', path: '/compare', says: 'Minutes a run' },
  { name: 'people', path: '/people', says: 'Tomas' },
  { name: 'me', path: '/me', says: 'Firefox on Linux' },
  { name: 'messages', path: '/messages', says: 'Old tablet' },
  {
    name: 'messages-none',
    path: '/messages',
    says: 'Nobody would reach you yet.',
    overrides: { 'GET /v1/devices': empty },
  },
  { name: 'sizing', path: '/sizing', says: 'Work it out' },
  { name: 'cautions', path: '/cautions', says: 'Starting the engine' },
  { name: 'more', path: '/more', says: 'Sign out here' },
  { name: 'missing', path: '/nowhere', says: 'There is nothing at this address.' },
  {
    name: 'sign-in',
    path: '/',
    says: 'You are not signed in on this device.',
    overrides: { 'GET /v1/me': () => ({ status: 401, body: {} }) },
  },
  {
    name: 'join',
    path: '/join#token-of-at-least-20-letters',
    says: 'You are invited to Sandmere, Row C.',
    overrides: {
      'POST /v1/invites/read': () => ({
        body: { kind: 'join', name: 'Ines', hangars: [{ name: 'Sandmere, Row C', role: 'keeper' }] },
      }),
    },
  },
  {
    name: 'join-used',
    path: '/join#token-of-at-least-20-letters',
    says: /This link has been used/,
    overrides: { 'POST /v1/invites/read': () => ({ status: 410, body: { title: 'gone' } }) },
  },
]
