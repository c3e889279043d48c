/** Links that work once: into hangars, or onto another device of one's own. */
import { DEVICE_LINK_LIFE_S, INVITE_LIFE_S } from '../../core/limits.ts'
import type { Grant, Invite, InvitePort, PersonPort, SessionPort, Person } from './ports.ts'
import { hashOf, makeId, makeSecret } from './secrets.ts'
import { makeRoom, newSession } from './sessions.ts'

export type MadeInvite = { readonly invite: Invite; readonly secret: string }

export async function inviteTo(
  invites: InvitePort,
  to: { readonly hangar: string | null; readonly grants: readonly Grant[]; readonly name: string | null },
  nowS: number,
): Promise<MadeInvite> {
  return keep(invites, { ...to, person: null }, { nowS, lifeS: INVITE_LIFE_S })
}

export async function linkDevice(invites: InvitePort, person: Person, nowS: number): Promise<MadeInvite> {
  const to = { person: person.id, hangar: null, grants: [], name: person.name }
  return keep(invites, to, { nowS, lifeS: DEVICE_LINK_LIFE_S })
}

async function keep(
  invites: InvitePort,
  to: Pick<Invite, 'person' | 'hangar' | 'grants' | 'name'>,
  when: { readonly nowS: number; readonly lifeS: number },
): Promise<MadeInvite> {
  const secret = makeSecret('')
  const made = { id: makeId(), madeAtS: when.nowS, expiresAtS: when.nowS + when.lifeS, usedAtS: null }
  const invite = { ...to, ...made }
  await invites.add(await hashOf(secret), invite)
  return { invite, secret }
}

/** `null` for what is unknown, used or too old: the caller learns no difference. */
export async function openInvite(invites: InvitePort, secret: string, nowS: number): Promise<Invite | null> {
  const invite = await invites.byHash(await hashOf(secret))
  if (invite === null || invite.usedAtS !== null || invite.expiresAtS <= nowS) return null
  return invite
}

export type Accepting = {
  readonly secret: string
  /** Somebody already signed in here joins as themselves. */
  readonly signedIn: Person | null
  readonly asNew: {
    readonly name: string | null
    readonly zone: string | null
    readonly unit: Person['unit'] | null
  }
  readonly label: string
  readonly nowS: number
}

/** Uses the link up. `session` is the secret of a new session, `null` if this browser already had one. */
export async function acceptInvite(
  ports: { readonly invites: InvitePort; readonly persons: PersonPort; readonly sessions: SessionPort },
  accepting: Accepting,
): Promise<{ readonly person: Person; readonly session: string | null } | null> {
  const invite = await openInvite(ports.invites, accepting.secret, accepting.nowS)
  if (invite === null) return null
  const who = await whoAccepts(ports.persons, invite, accepting)
  if (who === null) return null
  const started = who.needsSession ? await newSession(who.person.id, accepting.label, accepting.nowS) : null
  const isAccepted = await ports.invites.accept({
    hash: await hashOf(accepting.secret),
    nowS: accepting.nowS,
    person: who.person,
    isNew: who.isNew,
    session: started,
  })
  if (!isAccepted) return null
  if (started !== null) await makeRoom(ports.sessions, started)
  return { person: who.person, session: started?.secret ?? null }
}

async function whoAccepts(persons: PersonPort, invite: Invite, accepting: Accepting) {
  const { signedIn, asNew } = accepting
  if (invite.person !== null) {
    const person = await persons.byId(invite.person)
    return person === null ? null : { person, isNew: false, needsSession: signedIn?.id !== person.id }
  }
  if (signedIn !== null) return { person: signedIn, isNew: false, needsSession: false }
  const person: Person = {
    id: makeId(),
    name: asNew.name ?? invite.name ?? 'New member',
    zone: asNew.zone ?? 'UTC',
    unit: asNew.unit ?? 'degC',
  }
  return { person, isNew: true, needsSession: true }
}
