import type { D1Database, D1PreparedStatement } from '@cloudflare/workers-types'
import type { Move } from '../../flows/message-ports.ts'

/** Guarded by the due time as it was read: of two that move the same row, one finds it. */
export function moveStatement(db: D1Database, moves: readonly Move[]): D1PreparedStatement {
  const rows = moves.map((m) => [
    m.alert,
    m.device,
    m.atS,
    m.kind,
    m.wasDueAtS,
    m.state,
    m.dueAtS,
    m.addAttempts,
    m.isShort ? 1 : 0,
    m.why,
  ])
  return db
    .prepare(
      `UPDATE delivery
          SET state = j.value->>5, due_at_s = j.value->>6, attempts = attempts + (j.value->>7),
              is_short = j.value->>8, why = j.value->>9
         FROM json_each(?1) j
        WHERE alert = j.value->>0 AND device = j.value->>1 AND at_s = j.value->>2 AND delivery.kind = j.value->>3
          AND state = 'waiting' AND due_at_s = j.value->>4
       RETURNING alert, device, at_s, kind`,
    )
    .bind(JSON.stringify(rows))
}
