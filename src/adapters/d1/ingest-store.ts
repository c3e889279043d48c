/** Taking readings in: one batch, so one round trip and one transaction. */
import type {
  IngestStore,
  ReplayRequest,
  ReplayResult,
  StoreRequest,
  StoreResult,
} from '../../flows/ingest-ports.ts'
import { hasConflict, insertion, ownedRows } from './insert-readings.ts'
import { loadConfig, loadConfigOf } from './source-config.ts'
import { keepPostStatements } from './post-store.ts'
import { rowsOf } from './stored.ts'

export function ingestStore(db: D1Database): IngestStore {
  return {
    load: (keyHash, count, nowS) => loadConfig(db, { keyHash, count, nowS }),
    loadOf: (source, nowS) => loadConfigOf(db, source, nowS),
    store: (request) => store(db, request),
    replay: (request) => replay(db, request),
    leaveOpen: async ({ post, token, result }) => {
      await db.prepare(LEAVE_OPEN).bind(post, token, JSON.stringify(result)).run()
    },
    keepPost: async (sourceKey, post) => {
      await db.batch(keepPostStatements(db, sourceKey, post))
    },
  }
}

/** One row: clustered by the hash. Read again inside each write, so that a revoked key never stores anything. */
const KEY_CHECK = 'SELECT config_version FROM source_key WHERE key_hash = ?1 AND revoked_s IS NULL'
/** The mark that a replay leaves on its post, in the same batch: what follows belongs to the one that won. */
const TOKEN_CHECK = 'SELECT replay_token FROM post WHERE public_id = ?1'

async function store(db: D1Database, request: StoreRequest): Promise<StoreResult> {
  const { keyHash, version, keep } = request
  const readings = insertion(db, request, { check: KEY_CHECK, of: keyHash, is: version })
  const statements = [db.prepare(KEY_CHECK).bind(keyHash), ...readings.statements]
  if (keep !== null) statements.push(...keepPostStatements(db, request.sourceKey, keep, { keyHash, version }))
  const [key, ...rest] = await db.batch(statements)
  const [found] = rowsOf<{ config_version: number }>(key)
  if (found === undefined) return { kind: 'revoked' }
  if (found.config_version !== version) return { kind: 'stale' }
  return { kind: 'stored', ...readings.read(rest) }
}

const CLAIM = 'UPDATE post SET replay_token = ?2 WHERE public_id = ?1 AND replayed_s IS NULL'

/**
 * After the readings: only they tell whether one of them is refused for what is there already. A post that is still in
 * parts set aside stays open: what it stores twice is a repeat, by the readings' identity.
 */
const CLOSE = `
  UPDATE post SET replayed_s = ?3, result = ?4
  WHERE public_id = ?1 AND replay_token = ?2 AND NOT ${hasConflict('?5')}`

const LEAVE_OPEN = `
  UPDATE post SET result = ?3 WHERE public_id = ?1 AND replay_token = ?2 AND replayed_s IS NULL`

async function replay(db: D1Database, request: ReplayRequest): Promise<ReplayResult> {
  const { post, token, nowS, wholeResult } = request
  const readings = insertion(db, request, { check: TOKEN_CHECK, of: post, is: token })
  const close = db.prepare(CLOSE)
  const rows = ownedRows(request.readings)
  const [claim, ...rest] = await db.batch([
    db.prepare(CLAIM).bind(post, token),
    ...readings.statements,
    ...(wholeResult === null ? [] : [close.bind(post, token, nowS, JSON.stringify(wholeResult), rows)]),
  ])
  if (claim?.meta.changes !== 1) return { kind: 'replayed_before' }
  return { kind: 'stored', ...readings.read(rest) }
}
