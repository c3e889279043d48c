/** The kept posts as a keeper sees them. */
import { WATCHED_FOR_S } from '../../core/limits.ts'
import type { KeptPost, PostStore } from '../../flows/ports.ts'
import { parseStored } from './stored.ts'

const POST = `
  SELECT p.public_id, p.kind, p.at_s, p.content_type, p.body, p.is_zipped, p.is_cut, p.read_as, p.recipe_version,
    p.result, p.replayed_s
  FROM post p JOIN source s ON s.source_id = p.source_id`

/** Somebody begins to watch: what isolates remember of the source ends, so that the very next good post is kept. */
const FORGET_UNWATCHED = `
  UPDATE source_key SET config_version = config_version + 1
  WHERE source_id = (SELECT source_id FROM source WHERE public_id = ?1 AND watched_until_s < ?2)`

type PostRecord = {
  public_id: string
  kind: KeptPost['kind']
  at_s: number
  content_type: string | null
  body: ArrayBuffer | number[]
  is_zipped: number
  is_cut: number
  read_as: string | null
  recipe_version: number
  result: string
  replayed_s: number | null
}

export function postStore(db: D1Database): PostStore {
  return {
    ofSource: async (source, nowS) => {
      const [, watched, posts] = await db.batch<PostRecord>([
        db.prepare(FORGET_UNWATCHED).bind(source, nowS),
        db
          .prepare('UPDATE source SET watched_until_s = ?2 WHERE public_id = ?1 RETURNING source_id')
          .bind(source, nowS + WATCHED_FOR_S),
        db.prepare(`${POST} WHERE s.public_id = ?1 ORDER BY p.at_s DESC, p.public_id`).bind(source),
      ])
      if (watched?.results.length !== 1) return null
      return Promise.all((posts?.results ?? []).map(postOf))
    },
    byId: async (source, post) => {
      const row = await db
        .prepare(`${POST} WHERE s.public_id = ?1 AND p.public_id = ?2`)
        .bind(source, post)
        .first<PostRecord>()
      return row === null ? null : postOf(row)
    },
  }
}

async function postOf(row: PostRecord): Promise<KeptPost> {
  return {
    id: row.public_id,
    kind: row.kind,
    atS: row.at_s,
    contentType: row.content_type,
    body: await textOf(new Uint8Array(row.body), row.is_zipped === 1),
    isCut: row.is_cut === 1,
    readAs: row.read_as,
    recipeVersion: row.recipe_version,
    result: parseStored(row.result),
    replayedS: row.replayed_s,
  }
}

/** Bytes that are no UTF-8 are shown as replacement characters: a keeper is to see what came, as far as it can be seen. */
async function textOf(bytes: Uint8Array<ArrayBuffer>, isZipped: boolean): Promise<string> {
  if (!isZipped) return new TextDecoder().decode(bytes)
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream('gzip'))).text()
}
