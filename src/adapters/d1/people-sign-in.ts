/** Persons and what signs them in: sessions, passkeys, personal tokens. */
import type { PasskeyPort, PersonPort, SessionPort, TokenPort } from '../../flows/people/ports.ts'
import {
  PASSKEY_COLUMNS,
  passkeyFrom,
  personColumns,
  personFrom,
  sessionFrom,
  tokenFrom,
  type PasskeyRow,
  type PersonRow,
  type SessionRow,
  type TokenRow,
} from './people-rows.ts'

/** No hangar would be left without a keeper. */
const IS_NO_LAST_KEEPER = `NOT EXISTS (
  SELECT 1 FROM member m WHERE m.person = ?1 AND m.role = 'keeper' AND NOT EXISTS (
    SELECT 1 FROM member o WHERE o.hangar = m.hangar AND o.person <> ?1 AND o.role = 'keeper'))`

export function personPort(db: D1Database): PersonPort {
  return {
    byId: async (id) => {
      const row = await db
        .prepare(`SELECT ${personColumns('p')} FROM person p WHERE p.id = ?1`)
        .bind(id)
        .first<PersonRow>()
      return row === null ? null : personFrom(row)
    },
    update: async (person) => {
      await db
        .prepare('UPDATE person SET name = ?2, zone = ?3, unit = ?4 WHERE id = ?1')
        .bind(person.id, person.name, person.zone, person.unit)
        .run()
    },
    remove: async (id) => {
      // Links of the hangars that this person kept go first, or one would lead back in.
      const results = await db.batch([
        db
          .prepare(
            `DELETE FROM invite WHERE used_at_s IS NULL AND ${IS_NO_LAST_KEEPER} AND hangar IN
               (SELECT hangar FROM member WHERE person = ?1 AND role = 'keeper')`,
          )
          .bind(id),
        db.prepare(`DELETE FROM person WHERE id = ?1 AND ${IS_NO_LAST_KEEPER}`).bind(id),
      ])
      return (results.at(-1)?.meta.changes ?? 0) > 0
    },
  }
}

export function sessionPort(db: D1Database): SessionPort {
  return {
    add: async (hash, session) => {
      await db
        .prepare(
          'INSERT INTO session (hash, id, person, label, made_at_s, seen_at_s) VALUES (?1, ?2, ?3, ?4, ?5, ?6)',
        )
        .bind(hash, session.id, session.person, session.label, session.madeAtS, session.seenAtS)
        .run()
    },
    ofPerson: async (person) => {
      const { results } = await db
        .prepare(
          `SELECT id, person, label, made_at_s, seen_at_s FROM session WHERE person = ?1
           ORDER BY seen_at_s DESC, id LIMIT 200`,
        )
        .bind(person)
        .all<SessionRow>()
      return results.map(sessionFrom)
    },
    end: async (person, id) => {
      const { meta } = await db
        .prepare('DELETE FROM session WHERE person = ?1 AND id = ?2')
        .bind(person, id)
        .run()
      return meta.changes > 0
    },
    endAll: async (person) => {
      await db.prepare('DELETE FROM session WHERE person = ?1').bind(person).run()
    },
  }
}

export function passkeyPort(db: D1Database): PasskeyPort {
  return {
    add: async (passkey) => {
      const { meta } = await db
        .prepare(
          `INSERT INTO passkey (${PASSKEY_COLUMNS}) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, NULL)
           ON CONFLICT (id) DO NOTHING`,
        )
        .bind(
          passkey.id,
          passkey.person,
          passkey.publicKey,
          passkey.counter,
          JSON.stringify(passkey.transports),
          passkey.name,
          passkey.madeAtS,
        )
        .run()
      return meta.changes > 0
    },
    ofPerson: async (person) => {
      const { results } = await db
        .prepare(`SELECT ${PASSKEY_COLUMNS} FROM passkey WHERE person = ?1 ORDER BY made_at_s, id`)
        .bind(person)
        .all<PasskeyRow>()
      return results.map(passkeyFrom)
    },
    byId: async (id) => {
      const row = await db
        .prepare(`SELECT ${PASSKEY_COLUMNS} FROM passkey WHERE id = ?1`)
        .bind(id)
        .first<PasskeyRow>()
      return row === null ? null : passkeyFrom(row)
    },
    use: async (id, counter, nowS) => {
      await db
        .prepare('UPDATE passkey SET counter = ?2, used_at_s = ?3 WHERE id = ?1')
        .bind(id, counter, nowS)
        .run()
    },
    remove: async (person, id) => {
      const { meta } = await db
        .prepare('DELETE FROM passkey WHERE person = ?1 AND id = ?2')
        .bind(person, id)
        .run()
      return meta.changes > 0
    },
    ...challenges(db),
  }
}

function challenges(db: D1Database): Pick<PasskeyPort, 'addChallenge' | 'takeChallenge'> {
  return {
    addChallenge: async ({ hash, person, expiresAtS }) => {
      await db
        .prepare('INSERT INTO challenge (hash, person, expires_at_s) VALUES (?1, ?2, ?3)')
        .bind(hash, person, expiresAtS)
        .run()
    },
    takeChallenge: async ({ hash, person, nowS }) => {
      const { meta } = await db
        .prepare('DELETE FROM challenge WHERE hash = ?1 AND person IS ?2 AND expires_at_s > ?3')
        .bind(hash, person, nowS)
        .run()
      return meta.changes > 0
    },
  }
}

export function tokenPort(db: D1Database): TokenPort {
  return {
    add: async (hash, token) => {
      await db
        .prepare(
          `INSERT INTO personal_token (hash, id, person, name, may, made_at_s, expires_at_s)
           VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)`,
        )
        .bind(hash, token.id, token.person, token.name, token.may, token.madeAtS, token.expiresAtS)
        .run()
    },
    ofPerson: async (person) => {
      const { results } = await db
        .prepare(
          `SELECT id, person, name, may, made_at_s, expires_at_s, used_at_s FROM personal_token
           WHERE person = ?1 ORDER BY made_at_s DESC, id LIMIT 200`,
        )
        .bind(person)
        .all<TokenRow>()
      return results.map(tokenFrom)
    },
    remove: async (person, id) => {
      const { meta } = await db
        .prepare('DELETE FROM personal_token WHERE person = ?1 AND id = ?2')
        .bind(person, id)
        .run()
      return meta.changes > 0
    },
  }
}
