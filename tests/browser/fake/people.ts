/** People, devices and hubs of the invented field. */
import { proposeRecipe } from '../../../src/core/ingest/propose.ts'
import type {
  Device,
  Invite,
  Link,
  LogEntry,
  Member,
  Post,
  Proposal,
  Reach,
  Session,
  Sizing,
  Source,
} from '../../../clients/web/src/shapes.ts'
import { iso } from './trace.ts'

const dayS = 86_400

export function devicesAt(nowS: number): Device[] {
  return [
    {
      id: 'd1',
      name: 'Phone',
      rigs: null,
      urgencies: ['now', 'visit'],
      quietHours: { from: '22:00', to: '07:00', forNow: false },
      madeAt: iso(nowS - 30 * dayS),
      lastReachedAt: iso(nowS - 2 * dayS),
      endedAt: null,
      failingSince: null,
      failure: null,
    },
    {
      id: 'd2',
      name: 'Old tablet',
      rigs: ['r1'],
      urgencies: ['now'],
      quietHours: null,
      madeAt: iso(nowS - 200 * dayS),
      lastReachedAt: null,
      endedAt: iso(nowS - 5 * dayS),
      failingSince: null,
      failure: null,
    },
  ]
}

export function reachOf(rig: string, nowS: number): Reach {
  if (rig === 'r1') return { nobody: true, pushOn: true, devices: [] }
  return {
    nobody: false,
    pushOn: true,
    devices: [
      { id: 'd1', name: 'Phone', owner: 'Ines', lastReachedAt: iso(nowS - 2 * dayS), hindrance: null },
      { id: 'd2', name: 'Old tablet', owner: 'Ines', lastReachedAt: null, hindrance: 'ended' },
    ],
  }
}

export function membersAt(nowS: number): Member[] {
  return [
    { person: 'p1', name: 'Ines', role: 'keeper', since: iso(nowS - 400 * dayS) },
    { person: 'p2', name: 'Tomas', role: 'watcher', since: iso(nowS - 60 * dayS) },
  ]
}

export function invitesAt(nowS: number): Invite[] {
  return [
    {
      id: 'i1',
      role: 'watcher',
      name: 'Rui',
      madeAt: iso(nowS - dayS),
      expiresAt: iso(nowS + dayS),
      usedAt: null,
    },
  ]
}

export function linkAt(nowS: number): Link {
  const token = 'bwi_EXAMPLE0000EXAMPLE0000EXAMPLE0000EXAMPLE'
  return { id: 'i2', link: `https://sandmere.invalid/join#${token}`, token, expiresAt: iso(nowS + dayS) }
}

export function sessionsAt(nowS: number): Session[] {
  return [
    {
      id: 's1',
      label: 'Chrome on Android',
      madeAt: iso(nowS - 9 * dayS),
      seenAt: iso(nowS - 60),
      isThis: true,
    },
    {
      id: 's2',
      label: 'Firefox on Linux',
      madeAt: iso(nowS - 90 * dayS),
      seenAt: iso(nowS - dayS),
      isThis: false,
    },
  ]
}

export function sourceAt(nowS: number): Source {
  return {
    id: 'so1',
    hangar: 'h1',
    name: 'Shelf over the door',
    rigs: ['plover', 'dunlin'],
    keyInQuery: false,
    recipe: null,
    recipeVersion: 0,
    madeAt: iso(nowS - 90 * dayS),
    heardAt: iso(nowS - 120),
    keys: [{ id: 'k1', madeAt: iso(nowS - 90 * dayS), revokedAt: null }],
  }
}

export function postsAt(nowS: number): Post[] {
  return [
    {
      id: 'po2',
      kind: 'set-aside',
      at: iso(nowS - 60),
      contentType: 'application/json',
      body: '{"data":[{"dev":"a1","ts":1798000000,"hum":"unavailable","tmp":64.8,"sw":"on"}]}',
      isBodyCut: false,
      isCut: false,
      readAs: 'json',
      recipeVersion: 0,
      result: {
        received: 1,
        setAside: [
          {
            index: 0,
            pointer: '/data/0/hum',
            reason: 'not-a-number',
            detail: '“unavailable” is not a number.',
          },
        ],
      },
      replayedAt: null,
    },
    {
      id: 'po1',
      kind: 'good',
      at: iso(nowS - 360),
      contentType: 'application/json',
      body: '{"humidity":11.4,"temperature":18.2,"pump":true,"rig":"plover"}',
      isBodyCut: false,
      isCut: false,
      readAs: 'native',
      recipeVersion: 0,
      result: null,
      replayedAt: null,
    },
  ]
}

/** As the server makes it: by the core itself. */
export function proposalFor(body: unknown, nowS: number): Proposal {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- the app's own call, typed where it is made
  const { post } = body as { post: string }
  const text = postsAt(nowS).find(({ id }) => id === post)?.body ?? ''
  const { rigs } = sourceAt(nowS)
  const made = proposeRecipe({ mediaType: 'application/json', text, rigs, receivedS: nowS })
  return made.recipe === null
    ? { recipe: null, reasons: [], notes: [], why: made.why }
    : { recipe: { ...made.recipe }, reasons: [...made.reasons], notes: [...made.notes], why: null }
}

/** What the server would give back for an entry it was sent. */
export function entryOf(body: unknown): LogEntry {
  // oxlint-disable-next-line typescript/no-unsafe-type-assertion -- the app's own call, typed where it is made
  const sent = body as Pick<LogEntry, 'at' | 'what' | 'detail'>
  return { id: 'new', by: 'p1', madeAt: sent.at, at: sent.at, what: sent.what, detail: sent.detail }
}

const range = (low: number, mid: number, high: number): { low: number; mid: number; high: number } => ({
  low,
  mid,
  high,
})
export const sizing: Sizing = {
  neverRestsShare: 0,
  settlesPct: range(0.9, 1.2, 1.8),
  dryDownH: range(2.1, 4.4, 11),
  runsPerWeek: range(1.5, 4, 12),
  runMin: range(14, 26, 61),
  idleGPerWeek: range(0.3, 1.2, 5.1),
  flightsPerFill: range(6, 14, 31),
  daysPerFill: range(80, 190, 430),
  capacityG: range(130, 205, 290),
  whPerWeek: range(12, 31, 92),
  dutyPct: range(0.4, 1.4, 6),
  assumed: ['Water a flight leaves: 3 to 12 g.'],
}
/** A loop whose air does not come down to where the pump stops. */
export const restlessSizing: Sizing = {
  ...sizing,
  neverRestsShare: 0.94,
  settlesPct: range(7.4, 11.3, 18),
  dryDownH: { low: null, mid: null, high: null },
  runsPerWeek: range(0, 0, 0),
  runMin: { low: null, mid: null, high: null },
  dutyPct: range(100, 100, 100),
}
