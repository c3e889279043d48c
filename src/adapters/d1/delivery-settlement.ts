import type { D1Database, D1PreparedStatement } from '@cloudflare/workers-types'
import type { Settlement } from '../../flows/message-ports.ts'
import { moveStatement } from './delivery-move.ts'
import { tallyStatements } from './tally.ts'

/** What came of a sweep, as one batch: all of it or nothing. Only statements that have something to do. */
export function settleStatements(
  db: D1Database,
  settlement: Settlement,
  nowS: number,
): D1PreparedStatement[] {
  const statements: D1PreparedStatement[] = []
  const { moves, covered, removals, reminders, devices, tallies } = settlement
  if (moves.length > 0) statements.push(moveStatement(db, moves))
  if (reminders.length > 0) statements.push(remindStatement(db, reminders, nowS))
  if (covered.length > 0) {
    const pairs = covered.map(({ alert, device }) => [alert, device])
    statements.push(db.prepare(COVER).bind(JSON.stringify(pairs)))
  }
  if (removals.length > 0) {
    const pairs = removals.map(({ alert, device }) => [alert, device])
    statements.push(db.prepare(REMOVE).bind(JSON.stringify(pairs)))
  }
  statements.push(...resultStatements(db, devices, nowS))
  if (tallies.size > 0) statements.push(...tallyStatements(db, tallies, nowS))
  return statements
}

const COVER = `
  UPDATE delivery SET state = 'sent', attempts = attempts + 1
   WHERE (alert, device) IN (SELECT value->>0, value->>1 FROM json_each(?1)) AND kind = 'raised' AND state = 'waiting'`

/** What the messages said about the devices they went to. */
export function resultStatements(
  db: D1Database,
  devices: readonly {
    readonly device: string
    readonly endpoint: string
    readonly result: 'reached' | 'gone' | 'failed'
    readonly why?: string
  }[],
  nowS: number,
): D1PreparedStatement[] {
  const endings = devices.filter((one) => one.result === 'gone')
  const rest = devices.filter((one) => one.result !== 'gone')
  return [
    ...(endings.length > 0 ? [db.prepare(END).bind(JSON.stringify(endings), nowS)] : []),
    ...(rest.length > 0 ? [db.prepare(NOTE_RESULT).bind(JSON.stringify(rest), nowS)] : []),
  ]
}

/** The alert is over for this device: its rows have no further use. One still claimed elsewhere stays and drops itself. */
const REMOVE = `
  DELETE FROM delivery
   WHERE (alert, device) IN (SELECT value->>0, value->>1 FROM json_each(?1)) AND state <> 'waiting'`

/** Only after a message of ours that went out: the row it reminds of says so. */
function remindStatement(db: D1Database, reminders: Settlement['reminders'], nowS: number) {
  const rows = reminders.map((one) => [one.alert, one.device, one.of.atS, one.of.kind, one.atS])
  return db
    .prepare(
      `INSERT INTO delivery (alert, device, at_s, kind, hangar, rig, rule, urgency, rank, state, due_at_s, made_at_s)
       SELECT d.alert, d.device, j.value->>4, 'reminder', d.hangar, d.rig, d.rule, d.urgency, d.rank, 'waiting',
              j.value->>4, ?2
         FROM json_each(?1) j
         JOIN delivery d ON d.alert = j.value->>0 AND d.device = j.value->>1 AND d.at_s = j.value->>2
                        AND d.kind = j.value->>3
        WHERE d.state = 'sent'
       ON CONFLICT DO NOTHING`,
    )
    .bind(JSON.stringify(rows), nowS)
}

/**
 * The subscription is deleted, the owner's choices stay: the page can say that this device is no longer reached.
 * Only if it is still the one that was written to: the browser may have made a new one meanwhile.
 */
const END = `
  UPDATE device SET endpoint = NULL, p256dh = NULL, auth = NULL, ended_at_s = ?2, failed_at_s = ?2, failure = 'gone'
   WHERE (id, endpoint) IN (SELECT value->>'device', value->>'endpoint' FROM json_each(?1))`

const NOTE_RESULT = `
  UPDATE device
     SET reached_at_s = CASE j.value->>'result' WHEN 'reached' THEN ?2 ELSE reached_at_s END,
         failed_at_s = CASE j.value->>'result' WHEN 'reached' THEN NULL ELSE coalesce(failed_at_s, ?2) END,
         failure = j.value->>'why'
    FROM json_each(?1) j
   WHERE device.id = j.value->>'device' AND endpoint = j.value->>'endpoint'`
