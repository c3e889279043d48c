/** Who a credential stands for, and where a thing in a path belongs. */
import { shardOfId } from '../../core/ids/public-id.ts'
import type { AccessPort, ScopeKind, Standing } from '../../flows/people/ports.ts'
import {
  hangarColumns,
  hangarFrom,
  personColumns,
  personFrom,
  sessionFrom,
  tokenFrom,
  type HangarRow,
  type PersonRow,
  type SessionRow,
  type TokenRow,
} from './people-rows.ts'

/** `databases`: the first holds the people; a rig's row is on the one that its id names. */
export function accessPort(databases: readonly [D1Database, ...D1Database[]]): AccessPort {
  const [db] = databases
  return {
    session: async (hash) => {
      const row = await db
        .prepare(
          `SELECT s.id, s.person, s.label, s.made_at_s, s.seen_at_s, ${personColumns('p')}
           FROM session s JOIN person p ON p.id = s.person WHERE s.hash = ?1`,
        )
        .bind(hash)
        .first<SessionRow & PersonRow>()
      return row === null ? null : { session: sessionFrom(row), person: personFrom(row) }
    },
    seeSession: async (hash, nowS) => {
      await db.prepare('UPDATE session SET seen_at_s = ?2 WHERE hash = ?1').bind(hash, nowS).run()
    },
    token: async (hash) => {
      const row = await db
        .prepare(
          `SELECT t.id, t.person, t.name, t.may, t.made_at_s, t.expires_at_s, t.used_at_s, ${personColumns('p')}
           FROM personal_token t JOIN person p ON p.id = t.person WHERE t.hash = ?1`,
        )
        .bind(hash)
        .first<TokenRow & PersonRow>()
      return row === null ? null : { token: tokenFrom(row), person: personFrom(row) }
    },
    useToken: async (hash, nowS) => {
      await db.prepare('UPDATE personal_token SET used_at_s = ?2 WHERE hash = ?1').bind(hash, nowS).run()
    },
    standing: (kind, id, person) => standing(databases, { kind, id, person }),
  }
}

/** From the thing's public id to its hangar's, and whether it is being deleted itself. */
const HANGAR_OF: Readonly<Record<ScopeKind, string>> = {
  hangar: 'SELECT ?1 AS hangar, 0 AS is_leaving',
  rig: 'SELECT hangar, deleting_at_s IS NOT NULL AS is_leaving FROM rig WHERE public_id = ?1',
  source: 'SELECT hangar, 0 AS is_leaving FROM source WHERE public_id = ?1',
  alert: `SELECT r.hangar AS hangar, r.deleting_at_s IS NOT NULL AS is_leaving
    FROM alert a JOIN rig r ON r.rig_id = a.rig_id WHERE a.public_id = ?1`,
}

type Of = { readonly kind: ScopeKind; readonly id: string; readonly person: string | null }

/** The same queries whether it is there or not, mine or not, so that neither shows in the time taken. */
async function standing(databases: readonly [D1Database, ...D1Database[]], of: Of): Promise<Standing | null> {
  const shard = of.kind === 'hangar' ? 0 : shardOfId(of.id)
  const db = shard === null ? undefined : databases[shard]
  if (db === undefined) return null
  if (shard === 0) return standingOf(databases[0], HANGAR_OF[of.kind], of)
  const row = await db.prepare(HANGAR_OF[of.kind]).bind(of.id).first<{ hangar: string; is_leaving: number }>()
  const found = await standingOf(databases[0], HANGAR_OF.hangar, { ...of, id: row?.hangar ?? '' })
  return found === null ? null : { ...found, isLeaving: row?.is_leaving === 1 }
}

async function standingOf(db: D1Database, hangarOf: string, of: Of): Promise<Standing | null> {
  const row = await db
    .prepare(
      `SELECT ${hangarColumns('h')}, m.role AS role, thing.is_leaving
       FROM (${hangarOf}) AS thing JOIN hangar h ON h.id = thing.hangar
       LEFT JOIN member m ON m.hangar = h.id AND m.person = ?2`,
    )
    .bind(of.id, of.person)
    .first<HangarRow & { role: 'keeper' | 'watcher' | null; is_leaving: number }>()
  return row === null ? null : { hangar: hangarFrom(row), role: row.role, isLeaving: row.is_leaving === 1 }
}
