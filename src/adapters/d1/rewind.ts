/**
 * Marks the analysis of a rig as having to go back: something at `fromS` changed after it had passed, or may be passing,
 * that time. Also ends what isolates remember about the rig's sources, because band and off state are part of it.
 *
 * A mark that is older already stays, and the sequence number is raised all the same: a check that goes back to it at this
 * moment may have read its inputs before this one came, and must not take the mark away.
 */
export const lowerMark = (fromS: string): string =>
  `seq = seq + 1, rewind_from_s = min(coalesce(rewind_from_s, ${fromS}), ${fromS})`

const MARK = `UPDATE memory SET ${lowerMark('?2')} WHERE rig_id = ?1`

const FORGET_SOURCES = `
  UPDATE source_key SET config_version = config_version + 1
  WHERE source_id IN (SELECT source_id FROM source_rig WHERE rig_id = ?1)`

export function rewindStatements(db: D1Database, rigKey: number, fromS: number): D1PreparedStatement[] {
  return [db.prepare(MARK).bind(rigKey, fromS), db.prepare(FORGET_SOURCES).bind(rigKey)]
}
