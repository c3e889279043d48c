/** Sources, their keys, the rigs they serve and the recipes that read their posts. */
import { publicId } from '../../core/ids/public-id.ts'
import { sourceKey } from '../../core/ids/source-key.ts'
import { LIVE_KEYS_MAX } from '../../core/limits.ts'
import type { SourceRow, SourceStore } from '../../flows/ports.ts'
import type { Random } from './shard.ts'
import { parseStored } from './stored.ts'

export function sourceStore(db: D1Database, shard: number, random: Random): SourceStore {
  return {
    add: (source) => addSource(db, publicId(shard, random), source),
    ofHangar: (hangar) => readSources(db, 'hangar', hangar),
    byId: async (id) => (await readSources(db, 'public_id', id))[0] ?? null,
    change: (id, change) => changeSource(db, id, change),
    remove: (id) => removeSource(db, id),
    setRecipe: (id, recipe, nowS) => setRecipe(db, id, { recipe, nowS }),
    addKey: (id, nowS) =>
      addKey(db, id, { key: sourceKey(shard, random), keyId: publicId(shard, random), nowS }),
    revokeKey: async (id, key, nowS) => {
      const done = await db
        .prepare(
          `UPDATE source_key SET revoked_s = ?3 WHERE public_id = ?2 AND revoked_s IS NULL
           AND source_id = (SELECT source_id FROM source WHERE public_id = ?1)`,
        )
        .bind(id, key, nowS)
        .run()
      return done.meta.changes > 0
    },
  }
}

const FORGET = `
  UPDATE source_key SET config_version = config_version + 1
  WHERE source_id = (SELECT source_id FROM source WHERE public_id = ?1)`

/** Slugs of the list that are no rig of the hangar. */
const UNKNOWN_SLUG = `
  SELECT j.value AS slug FROM json_each(?2) j
  WHERE NOT EXISTS (SELECT 1 FROM rig r WHERE r.hangar = ?1 AND r.slug = j.value AND r.deleting_at_s IS NULL)
  LIMIT 1`

const LINK_RIGS = `
  INSERT INTO source_rig (source_id, rig_id)
  SELECT s.source_id, r.rig_id FROM source s JOIN rig r ON r.hangar = s.hangar
  WHERE s.public_id = ?1 AND r.deleting_at_s IS NULL AND r.slug IN (SELECT value FROM json_each(?2))
  ON CONFLICT DO NOTHING`

type NewSource = Parameters<SourceStore['add']>[0]

async function addSource(db: D1Database, id: string, source: NewSource): ReturnType<SourceStore['add']> {
  const rigs = JSON.stringify(source.rigs)
  const unknown = await db.prepare(UNKNOWN_SLUG).bind(source.hangar, rigs).first<string>('slug')
  if (unknown !== null) return { reason: 'unknown_rig', slug: unknown }
  const hasRecipe = source.recipe !== null && source.recipe !== undefined
  const statements = [
    db
      .prepare(
        `INSERT INTO source (public_id, hangar, name, is_key_in_query, recipe_version, made_s)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6)`,
      )
      .bind(id, source.hangar, source.name, source.isKeyInQuery ? 1 : 0, hasRecipe ? 1 : 0, source.nowS),
    db.prepare(LINK_RIGS).bind(id, rigs),
  ]
  if (hasRecipe)
    statements.push(
      db
        .prepare(
          'INSERT INTO recipe (source_id, version, recipe, saved_s) SELECT source_id, 1, ?2, ?3 FROM source WHERE public_id = ?1',
        )
        .bind(id, JSON.stringify(source.recipe), source.nowS),
    )
  await db.batch(statements)
  return { id }
}

type SourceRecord = {
  source_id: number
  public_id: string
  hangar: string
  name: string
  is_key_in_query: number
  recipe_version: number
  made_s: number
  recipe: string | null
  rigs: string
  keys: string
  heard_s: number | null
}

/** One row a source, with its rigs and keys as JSON: a hangar's page is one query. Each rig costs one seek for `heard_s`. */
function sourcesWhere(column: 'hangar' | 'public_id'): string {
  return `
    SELECT s.source_id, s.public_id, s.hangar, s.name, s.is_key_in_query, s.recipe_version, s.made_s, p.recipe,
      (SELECT json_group_array(r.slug) FROM source_rig sr JOIN rig r ON r.rig_id = sr.rig_id
        WHERE sr.source_id = s.source_id) AS rigs,
      (SELECT json_group_array(json_array(k.public_id, k.made_s, k.revoked_s)) FROM source_key k
        WHERE k.source_id = s.source_id) AS keys,
      (SELECT max((SELECT at_s FROM reading g WHERE g.rig_id = sr.rig_id AND g.place = j.value ORDER BY at_s DESC LIMIT 1))
        FROM source_rig sr, json_each('[0,1,2,3]') j WHERE sr.source_id = s.source_id) AS heard_s
    FROM source s LEFT JOIN recipe p ON p.source_id = s.source_id AND p.version = s.recipe_version
    WHERE s.${column} = ?1 ORDER BY s.name, s.source_id`
}

async function readSources(
  db: D1Database,
  by: 'hangar' | 'public_id',
  value: string,
): Promise<readonly SourceRow[]> {
  const found = await db.prepare(sourcesWhere(by)).bind(value).all<SourceRecord>()
  return found.results.map((row) => ({
    id: row.public_id,
    hangar: row.hangar,
    name: row.name,
    rigs: parseStored<string[]>(row.rigs),
    isKeyInQuery: row.is_key_in_query === 1,
    recipe: row.recipe === null ? null : parseStored<unknown>(row.recipe),
    recipeVersion: row.recipe_version,
    madeS: row.made_s,
    keys: parseStored<[string, number, number | null][]>(row.keys)
      .map(([id, madeS, revokedS]) => ({ id, madeS, revokedS }))
      .sort((a, b) => a.madeS - b.madeS),
    heardS: row.heard_s,
  }))
}

async function changeSource(
  db: D1Database,
  id: string,
  change: Parameters<SourceStore['change']>[1],
): ReturnType<SourceStore['change']> {
  const source = await db
    .prepare('SELECT hangar, name, is_key_in_query FROM source WHERE public_id = ?1')
    .bind(id)
    .first<{ hangar: string; name: string; is_key_in_query: number }>()
  if (source === null) return 'none'
  const statements = [
    db
      .prepare('UPDATE source SET name = ?2, is_key_in_query = ?3 WHERE public_id = ?1')
      .bind(id, change.name ?? source.name, (change.isKeyInQuery ?? source.is_key_in_query === 1) ? 1 : 0),
    db.prepare(FORGET).bind(id),
  ]
  if (change.rigs !== undefined) {
    const rigs = JSON.stringify(change.rigs)
    const unknown = await db.prepare(UNKNOWN_SLUG).bind(source.hangar, rigs).first<string>('slug')
    if (unknown !== null) return { reason: 'unknown_rig', slug: unknown }
    statements.push(
      db
        .prepare(
          `DELETE FROM source_rig WHERE source_id = (SELECT source_id FROM source WHERE public_id = ?1)
           AND rig_id NOT IN (SELECT rig_id FROM rig WHERE hangar = ?2 AND slug IN (SELECT value FROM json_each(?3)))`,
        )
        .bind(id, source.hangar, rigs),
      db.prepare(LINK_RIGS).bind(id, rigs),
    )
  }
  await db.batch(statements)
  return 'done'
}

/** A source has few rows: two rings of posts, recipes, keys. */
async function removeSource(db: D1Database, id: string): Promise<boolean> {
  const owned = ['post', 'recipe', 'source_key', 'source_rig'] as const
  const answers = await db.batch([
    ...owned.map((table) =>
      db
        .prepare(`DELETE FROM ${table} WHERE source_id = (SELECT source_id FROM source WHERE public_id = ?1)`)
        .bind(id),
    ),
    db.prepare('DELETE FROM source WHERE public_id = ?1').bind(id),
  ])
  return (answers.at(-1)?.meta.changes ?? 0) > 0
}

/** Versions only go up: going back to native names is version 0 again, and the old recipes stay readable. */
async function setRecipe(
  db: D1Database,
  id: string,
  save: { readonly recipe: unknown; readonly nowS: number },
): Promise<number | null> {
  if (save.recipe === null) {
    const [cleared] = await db.batch<{ recipe_version: number }>([
      db
        .prepare('UPDATE source SET recipe_version = 0 WHERE public_id = ?1 RETURNING recipe_version')
        .bind(id),
      db.prepare(FORGET).bind(id),
    ])
    return cleared?.results[0]?.recipe_version ?? null
  }
  const answers = await db.batch<{ recipe_version: number }>([
    db
      .prepare(
        `INSERT INTO recipe (source_id, version, recipe, saved_s)
         SELECT s.source_id, 1 + coalesce((SELECT max(version) FROM recipe p WHERE p.source_id = s.source_id), 0), ?2, ?3
         FROM source s WHERE s.public_id = ?1`,
      )
      .bind(id, JSON.stringify(save.recipe), save.nowS),
    db
      .prepare(
        `UPDATE source SET recipe_version = (SELECT max(version) FROM recipe p WHERE p.source_id = source.source_id)
         WHERE public_id = ?1 RETURNING recipe_version`,
      )
      .bind(id),
    db.prepare(FORGET).bind(id),
  ])
  return answers[1]?.results[0]?.recipe_version ?? null
}

async function addKey(
  db: D1Database,
  id: string,
  made: { readonly key: string; readonly keyId: string; readonly nowS: number },
): ReturnType<SourceStore['addKey']> {
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', new TextEncoder().encode(made.key)))
  const hash = Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('')
  const [source, added] = await db.batch([
    db.prepare('SELECT source_id FROM source WHERE public_id = ?1').bind(id),
    db
      .prepare(
        `INSERT INTO source_key (key_hash, source_id, public_id, made_s)
         SELECT ?2, s.source_id, ?3, ?4 FROM source s WHERE s.public_id = ?1
         AND (SELECT count(*) FROM source_key k WHERE k.source_id = s.source_id AND k.revoked_s IS NULL) < ?5`,
      )
      .bind(id, hash, made.keyId, made.nowS, LIVE_KEYS_MAX),
  ])
  if (source?.results.length !== 1) return { reason: 'none' }
  return added?.meta.changes === 1 ? { id: made.keyId, key: made.key } : { reason: 'two_live' }
}
