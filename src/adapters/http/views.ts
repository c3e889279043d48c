/** Domain things as they leave: ids, names and times, never a secret or its hash. */
import type { z } from '@hono/zod-openapi'
import type {
  Hangar,
  Invite,
  Member,
  Passkey,
  Person,
  PersonalToken,
  Role,
  Session,
} from '../../flows/people/ports.ts'
import type * as schemas from './schemas/people.ts'
import { timeOf, timeOrNull } from './time.ts'

export function personView(person: Person): z.input<typeof schemas.person> {
  return { id: person.id, name: person.name, zone: person.zone, unit: person.unit }
}

export function hangarView(hangar: Hangar): z.input<typeof schemas.hangar> {
  return {
    id: hangar.id,
    name: hangar.name,
    madeAt: timeOf(hangar.madeAtS),
    deletingSince: timeOrNull(hangar.deletingAtS),
  }
}

export function mineView(of: { hangar: Hangar; role: Role }): z.input<typeof schemas.hangarOfMine> {
  return { id: of.hangar.id, name: of.hangar.name, role: of.role }
}

export function memberView(member: Member): z.input<typeof schemas.member> {
  return { person: member.person, name: member.name, role: member.role, since: timeOf(member.sinceS) }
}

export function inviteView(invite: Invite): z.input<typeof schemas.invite> {
  return {
    id: invite.id,
    role: invite.grants.find((grant) => grant.hangar === invite.hangar)?.role ?? null,
    name: invite.name,
    madeAt: timeOf(invite.madeAtS),
    expiresAt: timeOf(invite.expiresAtS),
    usedAt: timeOrNull(invite.usedAtS),
  }
}

export function sessionView(session: Session, current: Session | null): z.input<typeof schemas.session> {
  return {
    id: session.id,
    label: session.label,
    madeAt: timeOf(session.madeAtS),
    seenAt: timeOf(session.seenAtS),
    isThis: session.id === current?.id,
  }
}

export function passkeyView(passkey: Passkey): z.input<typeof schemas.passkey> {
  return {
    id: passkey.id,
    name: passkey.name,
    madeAt: timeOf(passkey.madeAtS),
    usedAt: timeOrNull(passkey.usedAtS),
  }
}

export function tokenView(token: PersonalToken): z.input<typeof schemas.token> {
  return {
    id: token.id,
    name: token.name,
    may: token.may,
    madeAt: timeOf(token.madeAtS),
    expiresAt: timeOf(token.expiresAtS),
    usedAt: timeOrNull(token.usedAtS),
  }
}
