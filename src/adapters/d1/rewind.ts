/**
 * Marks the analysis of a rig as having to go back: something at `fromS` changed after it had passed, or may be passing,
 * that time. Also ends what isolates remember about the rig's sources, because band and off state are part of it.
 */

const MARK = `
  UPDATE memory SET rewind_from_s = ?2
  WHERE rig_id = ?1 AND (rewind_from_s IS NULL OR rewind_from_s > ?2)`

const FORGET_SOURCES = `
  UPDATE source_key SET config_version = config_version + 1
  WHERE source_id IN (SELECT source_id FROM source_rig WHERE rig_id = ?1)`

export function rewindStatements(db: D1Database, rigKey: number, fromS: number): D1PreparedStatement[] {
  return [db.prepare(MARK).bind(rigKey, fromS), db.prepare(FORGET_SOURCES).bind(rigKey)]
}
