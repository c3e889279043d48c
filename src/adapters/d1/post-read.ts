/** The kept posts as a keeper sees them. */
import { POST_SHOWN_MAX_BYTES, WATCHED_FOR_S } from '../../core/limits.ts'
import type { KeptPost, PostStore, ShownPost } from '../../flows/ports.ts'
import { readCursor, writeCursor } from './cursor.ts'
import { parseStored } from './stored.ts'

const POST = `
  SELECT p.public_id, p.kind, p.at_s, p.content_type, p.body, p.is_zipped, p.is_cut, p.read_as, p.recipe_version,
    p.result, p.replayed_s
  FROM post p JOIN source s ON s.source_id = p.source_id`

/** Somebody begins to watch: what isolates remember of the source ends, so that the very next good post is kept. */
const FORGET_UNWATCHED = `
  UPDATE source_key SET config_version = config_version + 1
  WHERE source_id = (SELECT source_id FROM source WHERE public_id = ?1 AND watched_until_s < ?2)`

const PAGE = `${POST}
  WHERE s.public_id = ?1 AND (p.at_s, p.public_id) < (?2, ?3)
  ORDER BY p.at_s DESC, p.public_id DESC LIMIT ?4`

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
    ofSource: async (source, { after, limit }, nowS) => {
      const [beforeS, beforeId] = readCursor(after) ?? [Number.MAX_SAFE_INTEGER, '']
      const [, watched, posts] = await db.batch<PostRecord>([
        db.prepare(FORGET_UNWATCHED).bind(source, nowS),
        db
          .prepare('UPDATE source SET watched_until_s = ?2 WHERE public_id = ?1 RETURNING source_id')
          .bind(source, nowS + WATCHED_FOR_S),
        db.prepare(PAGE).bind(source, beforeS, beforeId, limit + 1),
      ])
      if (watched?.results.length !== 1) return null
      const found = posts?.results ?? []
      const items = await Promise.all(found.slice(0, limit).map(shownOf))
      const last = items.at(-1)
      return { items, next: found.length > limit && last ? writeCursor([last.atS, last.id]) : null }
    },
    byId: async (source, post) => {
      const row = await db
        .prepare(`${POST} WHERE s.public_id = ?1 AND p.public_id = ?2`)
        .bind(source, post)
        .first<PostRecord>()
      return row === null ? null : { ...postOf(row), body: (await textOf(row, Infinity)).text }
    },
  }
}

async function shownOf(row: PostRecord): Promise<ShownPost> {
  const { text, isWhole } = await textOf(row, POST_SHOWN_MAX_BYTES)
  return { ...postOf(row), body: text, isBodyCut: !isWhole }
}

function postOf(row: PostRecord): Omit<KeptPost, 'body'> {
  return {
    id: row.public_id,
    kind: row.kind,
    atS: row.at_s,
    contentType: row.content_type,
    isCut: row.is_cut === 1,
    readAs: row.read_as,
    recipeVersion: row.recipe_version,
    result: parseStored(row.result),
    replayedS: row.replayed_s,
  }
}

/**
 * Bytes that are no UTF-8 are shown as replacement characters: a keeper is to see what came, as far as it can be seen.
 * No more is unzipped than is asked for.
 */
async function textOf(row: PostRecord, maxBytes: number): Promise<{ text: string; isWhole: boolean }> {
  const bytes = new Blob([new Uint8Array(row.body)]).stream()
  const body = row.is_zipped === 1 ? bytes.pipeThrough(new DecompressionStream('gzip')) : bytes
  const decoder = new TextDecoder()
  const reader = body.getReader()
  let text = ''
  let left = maxBytes
  for (;;) {
    const { done, value } = await reader.read()
    if (done) return { text: text + decoder.decode(), isWhole: true }
    // With `stream` the decoder holds back a character that the cut goes through.
    text += decoder.decode(value.subarray(0, left), { stream: true })
    if (value.length > left) {
      await reader.cancel()
      return { text, isWhole: false }
    }
    left -= value.length
  }
}
