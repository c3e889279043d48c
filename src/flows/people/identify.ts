/** From a secret's hash to the person it stands for, with the time-outs decided here and nowhere else. */
import { SESSION_ABSOLUTE_S, SESSION_IDLE_S, SESSION_SEEN_EVERY_S } from '../../core/limits.ts'
import type { AccessPort, Hash, Person, PersonalToken, Session } from './ports.ts'

export const TOKEN_PREFIX = 'beadtoken_'

export function isSessionLive(session: Session, nowS: number): boolean {
  return nowS - session.seenAtS < SESSION_IDLE_S && nowS - session.madeAtS < SESSION_ABSOLUTE_S
}

export async function findSession(
  access: AccessPort,
  hash: Hash,
  nowS: number,
): Promise<{ session: Session; person: Person } | null> {
  const found = await access.session(hash)
  if (found === null || !isSessionLive(found.session, nowS)) return null
  if (nowS - found.session.seenAtS >= SESSION_SEEN_EVERY_S) await access.seeSession(hash, nowS)
  return found
}

export async function findToken(
  access: AccessPort,
  hash: Hash,
  nowS: number,
): Promise<{ token: PersonalToken; person: Person } | null> {
  const found = await access.token(hash)
  if (found === null || found.token.expiresAtS <= nowS) return null
  const { usedAtS } = found.token
  if (usedAtS === null || nowS - usedAtS >= SESSION_SEEN_EVERY_S) await access.useToken(hash, nowS)
  return found
}
