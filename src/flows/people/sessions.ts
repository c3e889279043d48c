/** New sessions. */
import { SESSIONS_PER_PERSON_MAX } from '../../core/limits.ts'
import type { Hash, Session, SessionPort } from './ports.ts'
import { hashOf, makeId, makeSecret } from './secrets.ts'

export type NewSession = { readonly secret: string; readonly hash: Hash; readonly session: Session }

export async function newSession(person: string, label: string, nowS: number): Promise<NewSession> {
  const secret = makeSecret('')
  const session = { id: makeId(), person, label, madeAtS: nowS, seenAtS: nowS }
  return { secret, hash: await hashOf(secret), session }
}

export async function startSession(sessions: SessionPort, started: NewSession): Promise<void> {
  await sessions.add(started.hash, started.session)
  await makeRoom(sessions, started)
}

/** The sessions longest unused make room beyond the limit; never the one that has just begun. */
export async function makeRoom(sessions: SessionPort, { session }: NewSession): Promise<void> {
  const others = (await sessions.ofPerson(session.person)).filter(({ id }) => id !== session.id)
  for (const old of others.slice(SESSIONS_PER_PERSON_MAX - 1)) await sessions.end(old.person, old.id)
}

const SYSTEMS = ['iPhone', 'iPad', 'Android', 'Windows', 'Mac OS X', 'CrOS', 'Linux'] as const
const BROWSERS = [
  ['Edg/', 'Edge'],
  ['OPR/', 'Opera'],
  ['Firefox/', 'Firefox'],
  ['Chrome/', 'Chrome'],
  ['Safari/', 'Safari'],
] as const

/** "Firefox on Android": enough to tell one's own devices apart, and nothing finer is kept. */
export function deviceLabel(userAgent: string): string {
  const browser = BROWSERS.find(([mark]) => userAgent.includes(mark))?.[1] ?? 'A browser'
  const system = SYSTEMS.find((mark) => userAgent.includes(mark))
  return system === undefined ? browser : `${browser} on ${system.replace(' OS X', '')}`
}
