/** Hangars and who belongs to them. */
import type { HangarPort, Role } from '../../flows/people/ports.ts'
import { hangarColumns, hangarFrom, type HangarRow } from './people-rows.ts'

const HANGAR = `SELECT ${hangarColumns('h')} FROM hangar h`

export function hangarPort(db: D1Database): HangarPort {
  return { ...hangars(db), ...members(db) }
}

async function many(statement: D1PreparedStatement) {
  return (await statement.all<HangarRow>()).results.map(hangarFrom)
}

function hangars(db: D1Database) {
  return {
    add: async (hangar) => {
      await db
        .prepare('INSERT INTO hangar (id, name, shard, made_at_s) VALUES (?1, ?2, ?3, ?4)')
        .bind(hangar.id, hangar.name, hangar.shard, hangar.madeAtS)
        .run()
    },
    all: ({ after, limit }) =>
      many(db.prepare(`${HANGAR} WHERE h.id > ?1 ORDER BY h.id LIMIT ?2`).bind(after, limit)),
    ofPerson: async (person) => {
      const { results } = await db
        .prepare(
          `SELECT ${hangarColumns('h')}, m.role FROM member m JOIN hangar h ON h.id = m.hangar
           WHERE m.person = ?1 AND h.deleting_at_s IS NULL ORDER BY h.name, h.id`,
        )
        .bind(person)
        .all<HangarRow & { role: Role }>()
      return results.map((row) => ({ hangar: hangarFrom(row), role: row.role }))
    },
    named: (ids) =>
      many(
        db
          .prepare(`${HANGAR} WHERE h.deleting_at_s IS NULL AND h.id IN (SELECT value FROM json_each(?1))`)
          .bind(JSON.stringify(ids)),
      ),
    rename: async (id, name) => {
      await db.prepare('UPDATE hangar SET name = ?2 WHERE id = ?1').bind(id, name).run()
    },
    startDeleting: async (id, nowS) => {
      await db
        .prepare('UPDATE hangar SET deleting_at_s = ?2 WHERE id = ?1 AND deleting_at_s IS NULL')
        .bind(id, nowS)
        .run()
    },
    remove: async (id) => {
      await db.batch([
        db.prepare('DELETE FROM delivery WHERE hangar = ?1').bind(id),
        db.prepare('DELETE FROM hangar WHERE id = ?1').bind(id),
      ])
    },
    deleting: (limit) => many(db.prepare(`${HANGAR} WHERE h.deleting_at_s IS NOT NULL LIMIT ?1`).bind(limit)),
  } satisfies Partial<HangarPort>
}

/** True while somebody else in the hangar is a keeper. Inside the statement that changes: two at once cannot both pass. */
const ANOTHER_KEEPER = `EXISTS (SELECT 1 FROM member o WHERE o.hangar = ?1 AND o.person <> ?2 AND o.role = 'keeper')`

/**
 * A keeper who goes, or becomes a watcher, has seen the links that are still out: all of them are taken back, or one
 * would lead back in. Stands before the change, in its batch, under the same condition.
 */
function takeBackInvites(db: D1Database, hangar: string, person: string): D1PreparedStatement {
  return db
    .prepare(
      `DELETE FROM invite WHERE hangar = ?1 AND used_at_s IS NULL
         AND EXISTS (SELECT 1 FROM member k WHERE k.hangar = ?1 AND k.person = ?2 AND k.role = 'keeper')
         AND ${ANOTHER_KEEPER}`,
    )
    .bind(hangar, person)
}

function members(db: D1Database) {
  const isMember = async (hangar: string, person: string) =>
    (await db
      .prepare('SELECT 1 FROM member WHERE hangar = ?1 AND person = ?2')
      .bind(hangar, person)
      .first()) !== null
  return {
    members: async (hangar) => {
      const { results } = await db
        .prepare(
          `SELECT m.person, p.name, m.role, m.since_s FROM member m JOIN person p ON p.id = m.person
           WHERE m.hangar = ?1 ORDER BY p.name, m.person`,
        )
        .bind(hangar)
        .all<{ person: string; name: string; role: Role; since_s: number }>()
      return results.map((row) => ({
        person: row.person,
        name: row.name,
        role: row.role,
        sinceS: row.since_s,
      }))
    },
    setRole: async (hangar, person, role) => {
      const change = db
        .prepare(
          `UPDATE member SET role = ?3 WHERE hangar = ?1 AND person = ?2
           AND (?3 = 'keeper' OR role = 'watcher' OR ${ANOTHER_KEEPER})`,
        )
        .bind(hangar, person, role)
      const isLess = role === 'watcher'
      const results = await db.batch(isLess ? [takeBackInvites(db, hangar, person), change] : [change])
      return (results.at(-1)?.meta.changes ?? 0) > 0 ? true : (await isMember(hangar, person)) ? false : null
    },
    removeMember: async (hangar, person) => {
      const remove = db
        .prepare(
          `DELETE FROM member WHERE hangar = ?1 AND person = ?2 AND (role = 'watcher' OR ${ANOTHER_KEEPER})`,
        )
        .bind(hangar, person)
      const results = await db.batch([takeBackInvites(db, hangar, person), remove])
      return (results.at(-1)?.meta.changes ?? 0) > 0 ? true : (await isMember(hangar, person)) ? false : null
    },
  } satisfies Partial<HangarPort>
}
