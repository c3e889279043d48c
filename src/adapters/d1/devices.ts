import type { D1Database, D1PreparedStatement } from '@cloudflare/workers-types'
import type { Urgency } from '../../core/fold/outputs.ts'
import type { Device, DeviceStore, HangarDevice } from '../../flows/device-ports.ts'
import type { Subscription } from '../../flows/message-ports.ts'
import { resultStatements } from './delivery-settlement.ts'

/** Devices, in the database of the people. */
export function deviceStore(db: D1Database): DeviceStore {
  return {
    ofPerson: async (person) => {
      const { results } = await db
        .prepare(`SELECT ${COLUMNS} FROM device d WHERE d.person = ?1 ORDER BY d.made_at_s, d.id`)
        .bind(person)
        .all<DeviceRow>()
      return results.map(deviceFrom)
    },
    byId: async (person, id) => {
      const row = await db
        .prepare(`SELECT ${COLUMNS} FROM device d WHERE d.id = ?2 AND d.person = ?1`)
        .bind(person, id)
        .first<DeviceRow>()
      return row === null ? null : deviceFrom(row)
    },
    ofHangar: (hangar) => ofHangar(db, hangar),
    add: (device) => add(db, device),
    change: (person, id, change) => changeDevice(db, { person, id }, change),
    remove: async (person, id) => {
      const { meta } = await db
        .prepare('DELETE FROM device WHERE id = ?2 AND person = ?1')
        .bind(person, id)
        .run()
      return meta.changes > 0
    },
    takeTest: async (id, nowS, everyS) => {
      const { meta } = await db
        .prepare(
          'UPDATE device SET tested_at_s = ?2 WHERE id = ?1 AND (tested_at_s IS NULL OR tested_at_s <= ?2 - ?3)',
        )
        .bind(id, nowS, everyS)
        .run()
      return meta.changes > 0
    },
    noteResult: async (result, nowS) => {
      await db.batch(resultStatements(db, [result], nowS))
    },
  }
}

const COLUMNS = `d.id, d.person, d.name, d.origin, d.endpoint, d.p256dh, d.auth, d.rigs, d.wants_now, d.wants_visit,
  d.wants_note, d.quiet_from_min, d.quiet_to_min, d.is_quiet_for_now, d.made_at_s, d.reached_at_s, d.ended_at_s,
  d.failed_at_s, d.failure`

type DeviceRow = {
  readonly id: string
  readonly person: string
  readonly name: string
  readonly origin: string
  readonly endpoint: string | null
  readonly p256dh: string | null
  readonly auth: string | null
  readonly rigs: string | null
  readonly wants_now: number
  readonly wants_visit: number
  readonly wants_note: number
  readonly quiet_from_min: number | null
  readonly quiet_to_min: number | null
  readonly is_quiet_for_now: number
  readonly made_at_s: number
  readonly reached_at_s: number | null
  readonly ended_at_s: number | null
  readonly failed_at_s: number | null
  readonly failure: string | null
}

function deviceFrom(row: DeviceRow): Device {
  const { endpoint, p256dh, auth } = row
  return {
    id: row.id,
    person: row.person,
    name: row.name,
    origin: row.origin,
    subscription: endpoint === null || p256dh === null || auth === null ? null : { endpoint, p256dh, auth },
    rigs: rigsFrom(row.rigs),
    urgencies: urgenciesFrom(row),
    quiet: quietFrom(row),
    madeAtS: row.made_at_s,
    reachedAtS: row.reached_at_s,
    endedAtS: row.ended_at_s,
    failedAtS: row.failed_at_s,
    failure: row.failure,
  }
}

function rigsFrom(text: string | null): readonly string[] | null {
  const rigs: string[] | null = text === null ? null : JSON.parse(text)
  return rigs
}

function urgenciesFrom(row: DeviceRow): readonly Urgency[] {
  const all: readonly (readonly [Urgency, number])[] = [
    ['now', row.wants_now],
    ['visit', row.wants_visit],
    ['note', row.wants_note],
  ]
  return all.filter(([, flag]) => flag === 1).map(([urgency]) => urgency)
}

function quietFrom(row: DeviceRow): Device['quiet'] {
  const { quiet_from_min: fromMin, quiet_to_min: toMin } = row
  if (fromMin === null || toMin === null) return null
  return { fromMin, toMin, isForNow: row.is_quiet_for_now === 1 }
}

async function ofHangar(db: D1Database, hangar: string): Promise<readonly HangarDevice[]> {
  const { results } = await db
    .prepare(
      `SELECT ${COLUMNS}, p.name AS owner_name
         FROM member m JOIN person p ON p.id = m.person JOIN device d ON d.person = m.person
        WHERE m.hangar = ?1 ORDER BY p.name, d.made_at_s, d.id`,
    )
    .bind(hangar)
    .all<DeviceRow & { owner_name: string }>()
  return results.map((row) => {
    const device = deviceFrom(row)
    return Object.assign(device, { ownerName: row.owner_name, isSubscribed: device.subscription !== null })
  })
}

/** One statement: either the row is new, or it is the same browser (same endpoint and keys) and becomes this device. */
async function add(db: D1Database, device: Device): Promise<{ readonly id: string } | 'other-keys'> {
  const { subscription, quiet } = device
  const row = await db
    .prepare(
      `INSERT INTO device (id, person, name, origin, endpoint, p256dh, auth, rigs, wants_now, wants_visit, wants_note,
                           quiet_from_min, quiet_to_min, is_quiet_for_now, made_at_s)
       VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15)
       ON CONFLICT (endpoint) DO UPDATE
          SET person = excluded.person, name = excluded.name, origin = excluded.origin, rigs = excluded.rigs,
              wants_now = excluded.wants_now, wants_visit = excluded.wants_visit, wants_note = excluded.wants_note,
              quiet_from_min = excluded.quiet_from_min, quiet_to_min = excluded.quiet_to_min,
              is_quiet_for_now = excluded.is_quiet_for_now, ended_at_s = NULL, failed_at_s = NULL, failure = NULL
        WHERE p256dh = excluded.p256dh AND auth = excluded.auth
       RETURNING id`,
    )
    .bind(
      device.id,
      device.person,
      device.name,
      device.origin,
      subscription?.endpoint ?? null,
      subscription?.p256dh ?? null,
      subscription?.auth ?? null,
      device.rigs === null ? null : JSON.stringify(device.rigs),
      ...wants(device.urgencies),
      quiet?.fromMin ?? null,
      quiet?.toMin ?? null,
      quiet?.isForNow === true ? 1 : 0,
      device.madeAtS,
    )
    .first<{ id: string }>()
  return row ?? 'other-keys'
}

function wants(urgencies: readonly Urgency[]): readonly number[] {
  return (['now', 'visit', 'note'] as const).map((one) => (urgencies.includes(one) ? 1 : 0))
}

type Change = Parameters<DeviceStore['change']>[2]

/**
 * Only what is named changes. A new subscription ends what was said about the old one; if another row has it, that was
 * the same browser under another id and goes, unless its keys differ.
 */
async function changeDevice(
  db: D1Database,
  of: { readonly person: string; readonly id: string },
  change: Change,
): ReturnType<DeviceStore['change']> {
  const columns = columnsOf(change)
  const names = Object.keys(columns)
  if (names.length === 0) return (await isThere(db, of)) ? 'done' : 'none'
  const settings = names.map((name, index) => `${name} = ?${index + 3}`).join(', ')
  const update = db
    .prepare(`UPDATE OR IGNORE device SET ${settings} WHERE id = ?2 AND person = ?1`)
    .bind(of.person, of.id, ...Object.values(columns))
  const { subscription } = change
  const results = await db.batch(subscription ? [makeRoom(db, of, subscription), update] : [update])
  if ((results.at(-1)?.meta.changes ?? 0) > 0) return 'done'
  return (await isThere(db, of)) ? 'other-keys' : 'none'
}

async function isThere(
  db: D1Database,
  of: { readonly person: string; readonly id: string },
): Promise<boolean> {
  return (await deviceStore(db).byId(of.person, of.id)) !== null
}

function makeRoom(
  db: D1Database,
  of: { readonly person: string; readonly id: string },
  subscription: Subscription,
): D1PreparedStatement {
  return db
    .prepare(
      `DELETE FROM device WHERE endpoint = ?3 AND p256dh = ?4 AND auth = ?5 AND id <> ?2
          AND EXISTS (SELECT 1 FROM device own WHERE own.id = ?2 AND own.person = ?1)`,
    )
    .bind(of.person, of.id, subscription.endpoint, subscription.p256dh, subscription.auth)
}

/** Column names are written here, never taken from a request. */
function columnsOf(change: Change): Record<string, string | number | null> {
  const { name, rigs, urgencies, quiet, subscription, origin } = change
  const [wantsNow = 0, wantsVisit = 0, wantsNote = 0] = urgencies ? wants(urgencies) : []
  return {
    ...(name === undefined ? {} : { name }),
    ...(rigs === undefined ? {} : { rigs: rigs === null ? null : JSON.stringify(rigs) }),
    ...(urgencies === undefined
      ? {}
      : { wants_now: wantsNow, wants_visit: wantsVisit, wants_note: wantsNote }),
    ...(quiet === undefined
      ? {}
      : {
          quiet_from_min: quiet?.fromMin ?? null,
          quiet_to_min: quiet?.toMin ?? null,
          is_quiet_for_now: quiet?.isForNow === true ? 1 : 0,
        }),
    ...(subscription === undefined
      ? {}
      : {
          endpoint: subscription.endpoint,
          p256dh: subscription.p256dh,
          auth: subscription.auth,
          origin: origin ?? '',
          ended_at_s: null,
          failed_at_s: null,
          failure: null,
        }),
  }
}
