/** Kept posts: two rings a source, of a fixed number of slots each, so that nothing has to be counted or deleted. */
import { GOOD_POSTS_MAX, SET_ASIDE_POSTS_MAX } from '../../core/limits.ts'
import type { PostToKeep } from '../../flows/ingest-ports.ts'

/** Each ring has its own count: posts of one kind leave no slot of the other unused. */
const NEXT_SLOT = `
  UPDATE source SET
    post_seq = post_seq + (?2 <> 'good'),
    good_seq = good_seq + (?2 = 'good'),
    good_kept_s = CASE WHEN ?2 = 'good' THEN ?3 ELSE good_kept_s END
  WHERE source_id = ?1`

const KEEP = `
  INSERT OR REPLACE INTO post (source_id, kind, slot, public_id, at_s, content_type, body, is_zipped, is_cut,
    read_as, recipe_version, result)
  SELECT source_id, ?2, CASE WHEN ?2 = 'good' THEN good_seq ELSE post_seq END % ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12 FROM source WHERE source_id = ?1`

/** `only`: keeps nothing unless the key and the version still hold, like the insert it goes with. */
export function keepPostStatements(
  db: D1Database,
  sourceKey: number,
  post: PostToKeep,
  only: { readonly keyHash: string; readonly version: number } | null = null,
): D1PreparedStatement[] {
  const guard = (hash: number): string =>
    only === null
      ? ''
      : ` AND (SELECT config_version FROM source_key WHERE key_hash = ?${hash} AND revoked_s IS NULL) = ?${hash + 1}`
  const guardValues = only === null ? [] : [only.keyHash, only.version]
  const slots = post.kind === 'good' ? GOOD_POSTS_MAX : SET_ASIDE_POSTS_MAX
  return [
    db.prepare(NEXT_SLOT + guard(4)).bind(sourceKey, post.kind, post.atS, ...guardValues),
    db
      .prepare(KEEP + guard(13))
      .bind(
        sourceKey,
        post.kind,
        slots,
        post.id,
        post.atS,
        post.contentType,
        post.body,
        post.isZipped ? 1 : 0,
        post.isCut ? 1 : 0,
        post.readAs,
        post.recipeVersion,
        JSON.stringify(post.result),
        ...guardValues,
      ),
  ]
}
