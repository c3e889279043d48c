/** Links that work once. */
import type { InvitePort } from '../../flows/people/ports.ts'
import { INVITE_COLUMNS, inviteFrom, type InviteRow } from './people-rows.ts'

export function invitePort(db: D1Database): InvitePort {
  return {
    add: async (hash, invite) => {
      await db
        .prepare(
          `INSERT INTO invite (hash, id, person, hangar, grants, name, made_at_s, expires_at_s)
           VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)`,
        )
        .bind(
          hash,
          invite.id,
          invite.person,
          invite.hangar,
          JSON.stringify(invite.grants),
          invite.name,
          invite.madeAtS,
          invite.expiresAtS,
        )
        .run()
    },
    ofHangar: async (hangar) => {
      const { results } = await db
        .prepare(`SELECT ${INVITE_COLUMNS} FROM invite WHERE hangar = ?1 ORDER BY made_at_s DESC LIMIT 200`)
        .bind(hangar)
        .all<InviteRow>()
      return results.map(inviteFrom)
    },
    byHash: async (hash) => {
      const row = await db
        .prepare(`SELECT ${INVITE_COLUMNS} FROM invite WHERE hash = ?1`)
        .bind(hash)
        .first<InviteRow>()
      return row === null ? null : inviteFrom(row)
    },
    remove: async (hangar, id) => {
      const { meta } = await db
        .prepare('DELETE FROM invite WHERE hangar = ?1 AND id = ?2')
        .bind(hangar, id)
        .run()
      return meta.changes > 0
    },
    accept: (use) => accept(db, use),
  }
}

/**
 * One batch is one transaction. The first statement takes the invite and leaves a mark that only this call knows;
 * the others do their part only where that mark is, so whoever comes second changes nothing at all.
 */
async function accept(db: D1Database, use: Parameters<InvitePort['accept']>[0]): Promise<boolean> {
  const { hash, nowS, person, session } = use
  const mark = crypto.randomUUID()
  const statements = [
    db
      .prepare(
        'UPDATE invite SET used_at_s = ?2, used_by = ?3 WHERE hash = ?1 AND used_at_s IS NULL AND expires_at_s > ?2',
      )
      .bind(hash, nowS, mark),
  ]
  if (use.isNew)
    statements.push(
      db
        .prepare(
          `INSERT INTO person (id, name, zone, unit, made_at_s)
           SELECT ?3, ?4, ?5, ?6, ?7 FROM invite WHERE hash = ?1 AND used_by = ?2`,
        )
        .bind(hash, mark, person.id, person.name, person.zone, person.unit, nowS),
    )
  statements.push(
    db
      .prepare(
        `INSERT INTO member (hangar, person, role, since_s)
         SELECT h.id, ?3, g.value ->> 'role', ?4
         FROM invite i, json_each(i.grants) g JOIN hangar h ON h.id = g.value ->> 'hangar' AND h.deleting_at_s IS NULL
         WHERE i.hash = ?1 AND i.used_by = ?2
         ON CONFLICT (hangar, person) DO UPDATE SET role = 'keeper' WHERE excluded.role = 'keeper'`,
      )
      .bind(hash, mark, person.id, nowS),
  )
  if (session !== null)
    statements.push(
      db
        .prepare(
          `INSERT INTO session (hash, id, person, label, made_at_s, seen_at_s)
           SELECT ?3, ?4, ?5, ?6, ?7, ?7 FROM invite WHERE hash = ?1 AND used_by = ?2`,
        )
        .bind(hash, mark, session.hash, session.session.id, person.id, session.session.label, nowS),
    )
  const [taken] = await db.batch(statements)
  return (taken?.meta.changes ?? 0) > 0
}
