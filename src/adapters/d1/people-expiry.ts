/** Clears away what has expired. */
import { EXPIRED_KEPT_S, SESSION_ABSOLUTE_S, SESSION_IDLE_S } from '../../core/limits.ts'
import type { ExpiryPort } from '../../flows/people/ports.ts'

export function expiryPort(db: D1Database): ExpiryPort {
  return {
    clear: async (nowS) => {
      await db.batch([
        db
          .prepare('DELETE FROM session WHERE seen_at_s <= ?1 OR made_at_s <= ?2')
          .bind(nowS - SESSION_IDLE_S, nowS - SESSION_ABSOLUTE_S),
        db.prepare('DELETE FROM challenge WHERE expires_at_s <= ?1').bind(nowS),
        db.prepare('DELETE FROM invite WHERE expires_at_s <= ?1').bind(nowS - EXPIRED_KEPT_S),
        db.prepare('DELETE FROM personal_token WHERE expires_at_s <= ?1').bind(nowS - EXPIRED_KEPT_S),
      ])
    },
  }
}
