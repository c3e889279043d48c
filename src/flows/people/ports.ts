/** What the flows about people need from storage. Times are Unix seconds; a `hash` is the SHA-256 of a secret. */

export type Role = 'keeper' | 'watcher'
export type Unit = 'degC' | 'degF'
export type Hash = Uint8Array<ArrayBuffer>

export type Person = {
  readonly id: string
  readonly name: string
  /** IANA time zone. */
  readonly zone: string
  readonly unit: Unit
}

export type Hangar = {
  readonly id: string
  readonly name: string
  readonly shard: number
  readonly madeAtS: number
  readonly deletingAtS: number | null
}

export type Member = {
  readonly person: string
  readonly name: string
  readonly role: Role
  readonly sinceS: number
}
export type Grant = { readonly hangar: string; readonly role: Role }

export type Invite = {
  readonly id: string
  /** Set: signs this person in on another device. */
  readonly person: string | null
  readonly hangar: string | null
  readonly grants: readonly Grant[]
  readonly name: string | null
  readonly madeAtS: number
  readonly expiresAtS: number
  readonly usedAtS: number | null
}

export type Session = {
  readonly id: string
  readonly person: string
  readonly label: string
  readonly madeAtS: number
  readonly seenAtS: number
}

export type Passkey = {
  readonly id: string
  readonly person: string
  readonly publicKey: Uint8Array<ArrayBuffer>
  readonly counter: number
  readonly transports: readonly string[]
  readonly name: string
  readonly madeAtS: number
  readonly usedAtS: number | null
}

export type PersonalToken = {
  readonly id: string
  readonly person: string
  readonly name: string
  readonly may: 'read' | 'write'
  readonly madeAtS: number
  readonly expiresAtS: number
  readonly usedAtS: number | null
}

/** The kinds of thing that belong to a hangar and stand in a path. */
export type ScopeKind = 'hangar' | 'rig' | 'source' | 'alert'

/** Where a thing belongs, and what this person is there: `role` is null for somebody who is no member. */
export type Standing = {
  /** The thing itself is being deleted, not its hangar. */
  readonly isLeaving: boolean
  readonly hangar: Hangar
  readonly role: Role | null
}

export type AccessPort = {
  readonly session: (hash: Hash) => Promise<{ session: Session; person: Person } | null>
  readonly seeSession: (hash: Hash, nowS: number) => Promise<void>
  readonly token: (hash: Hash) => Promise<{ token: PersonalToken; person: Person } | null>
  readonly useToken: (hash: Hash, nowS: number) => Promise<void>
  readonly standing: (kind: ScopeKind, id: string, person: string | null) => Promise<Standing | null>
}

export type HangarPort = {
  readonly add: (hangar: Hangar) => Promise<void>
  readonly all: (page: { after: string; limit: number }) => Promise<Hangar[]>
  readonly ofPerson: (person: string) => Promise<{ hangar: Hangar; role: Role }[]>
  readonly named: (ids: readonly string[]) => Promise<Hangar[]>
  readonly rename: (id: string, name: string) => Promise<void>
  readonly startDeleting: (id: string, nowS: number) => Promise<void>
  /** The hangar itself with its memberships and invites, once nothing else belongs to it. */
  readonly remove: (id: string) => Promise<void>
  readonly deleting: (limit: number) => Promise<Hangar[]>
  readonly members: (hangar: string) => Promise<Member[]>
  /** False if that would leave the hangar without a keeper. Null if there is no such member. */
  readonly setRole: (hangar: string, person: string, role: Role) => Promise<boolean | null>
  readonly removeMember: (hangar: string, person: string) => Promise<boolean | null>
}

export type InvitePort = {
  readonly add: (hash: Hash, invite: Invite) => Promise<void>
  readonly ofHangar: (hangar: string) => Promise<Invite[]>
  readonly byHash: (hash: Hash) => Promise<Invite | null>
  readonly remove: (hangar: string, id: string) => Promise<boolean>
  /**
   * Uses the invite up and, in the same transaction, makes the person (if new), the memberships and the session.
   * False if it is used, expired or unknown: then nothing has changed.
   */
  readonly accept: (use: {
    readonly hash: Hash
    readonly nowS: number
    readonly person: Person
    readonly isNew: boolean
    readonly session: { readonly hash: Hash; readonly session: Session } | null
  }) => Promise<boolean>
}

export type SessionPort = {
  readonly add: (hash: Hash, session: Session) => Promise<void>
  readonly ofPerson: (person: string) => Promise<Session[]>
  readonly end: (person: string, id: string) => Promise<boolean>
  readonly endAll: (person: string) => Promise<void>
}

export type PasskeyPort = {
  readonly add: (passkey: Passkey) => Promise<boolean>
  readonly ofPerson: (person: string) => Promise<Passkey[]>
  readonly byId: (id: string) => Promise<Passkey | null>
  readonly use: (id: string, counter: number, nowS: number) => Promise<void>
  readonly remove: (person: string, id: string) => Promise<boolean>
  readonly addChallenge: (challenge: {
    hash: Hash
    person: string | null
    expiresAtS: number
  }) => Promise<void>
  /** Takes the challenge out: true only once, and only before it expires. */
  readonly takeChallenge: (challenge: { hash: Hash; person: string | null; nowS: number }) => Promise<boolean>
}

export type TokenPort = {
  readonly add: (hash: Hash, token: PersonalToken) => Promise<void>
  readonly ofPerson: (person: string) => Promise<PersonalToken[]>
  readonly remove: (person: string, id: string) => Promise<boolean>
}

export type PersonPort = {
  readonly byId: (id: string) => Promise<Person | null>
  readonly update: (person: Person) => Promise<void>
  /** False while the person is the last keeper of a hangar. */
  readonly remove: (id: string) => Promise<boolean>
}

export type ExpiryPort = {
  /** Removes sessions, challenges, invites and tokens that nobody can use any more. */
  readonly clear: (nowS: number) => Promise<void>
}

export type PeoplePorts = {
  readonly access: AccessPort
  readonly persons: PersonPort
  readonly hangars: HangarPort
  readonly invites: InvitePort
  readonly sessions: SessionPort
  readonly passkeys: PasskeyPort
  readonly tokens: TokenPort
  readonly expiry: ExpiryPort
}
