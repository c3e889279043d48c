/** Rows about people become domain things, one function a table. */
import type {
  Grant,
  Hangar,
  Invite,
  Passkey,
  Person,
  PersonalToken,
  Session,
} from '../../flows/people/ports.ts'

export type HangarRow = {
  hangar_id: string
  hangar_name: string
  shard: number
  hangar_made_at_s: number
  deleting_at_s: number | null
}

export function hangarColumns(t: string): string {
  return `${t}.id AS hangar_id, ${t}.name AS hangar_name, ${t}.shard, ${t}.made_at_s AS hangar_made_at_s, ${t}.deleting_at_s`
}

export function hangarFrom(row: HangarRow): Hangar {
  return {
    id: row.hangar_id,
    name: row.hangar_name,
    shard: row.shard,
    madeAtS: row.hangar_made_at_s,
    deletingAtS: row.deleting_at_s,
  }
}

export type PersonRow = { person_id: string; person_name: string; zone: string; unit: 'degC' | 'degF' }

export function personColumns(t: string): string {
  return `${t}.id AS person_id, ${t}.name AS person_name, ${t}.zone, ${t}.unit`
}

export function personFrom(row: PersonRow): Person {
  return { id: row.person_id, name: row.person_name, zone: row.zone, unit: row.unit }
}

export type SessionRow = {
  id: string
  person: string
  label: string
  made_at_s: number
  seen_at_s: number
}

export function sessionFrom(row: SessionRow): Session {
  return {
    id: row.id,
    person: row.person,
    label: row.label,
    madeAtS: row.made_at_s,
    seenAtS: row.seen_at_s,
  }
}

export type TokenRow = {
  id: string
  person: string
  name: string
  may: 'read' | 'write'
  made_at_s: number
  expires_at_s: number
  used_at_s: number | null
}

export function tokenFrom(row: TokenRow): PersonalToken {
  return {
    id: row.id,
    person: row.person,
    name: row.name,
    may: row.may,
    madeAtS: row.made_at_s,
    expiresAtS: row.expires_at_s,
    usedAtS: row.used_at_s,
  }
}

export type InviteRow = {
  id: string
  person: string | null
  hangar: string | null
  grants: string
  name: string | null
  made_at_s: number
  expires_at_s: number
  used_at_s: number | null
}

export const INVITE_COLUMNS = 'id, person, hangar, grants, name, made_at_s, expires_at_s, used_at_s'

export function inviteFrom(row: InviteRow): Invite {
  const grants: Grant[] = JSON.parse(row.grants)
  return {
    id: row.id,
    person: row.person,
    hangar: row.hangar,
    grants,
    name: row.name,
    madeAtS: row.made_at_s,
    expiresAtS: row.expires_at_s,
    usedAtS: row.used_at_s,
  }
}

export type PasskeyRow = {
  id: string
  person: string
  public_key: ArrayBuffer | number[]
  counter: number
  transports: string
  name: string
  made_at_s: number
  used_at_s: number | null
}

export const PASSKEY_COLUMNS = 'id, person, public_key, counter, transports, name, made_at_s, used_at_s'

/** D1 gives a BLOB as an array of numbers. */
export function passkeyFrom(row: PasskeyRow): Passkey {
  const transports: string[] = JSON.parse(row.transports)
  return {
    id: row.id,
    person: row.person,
    publicKey: new Uint8Array(row.public_key),
    counter: row.counter,
    transports,
    name: row.name,
    madeAtS: row.made_at_s,
    usedAtS: row.used_at_s,
  }
}
