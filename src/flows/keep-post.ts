/** Posts that are kept: whole while that fits, zipped when that is shorter, without the secrets they may carry. */
import { publicId, shardOfId } from '../core/ids/public-id.ts'
import { blankSecrets } from '../core/ingest/blank-secrets.ts'
import { GOOD_POST_EVERY_S, POST_KEPT_MAX_BYTES } from '../core/limits.ts'
import type { PostToKeep, SourceConfig } from './ingest-ports.ts'

/** Bodies under this gain nothing from zipping. */
const ZIP_FROM_BYTES = 1024

export function wantsGoodPost(config: SourceConfig, goodKeptS: number, nowS: number): boolean {
  return nowS < config.watchedUntilS || nowS - goodKeptS >= GOOD_POST_EVERY_S
}

export async function postToKeep(
  ports: { readonly randomBytes: (bytes: number) => Uint8Array },
  kept: {
    readonly kind: 'set-aside' | 'good'
    readonly post: {
      readonly contentType: string | null
      readonly bytes: Uint8Array<ArrayBuffer>
      readonly text: string | null
    }
    readonly receivedS: number
    readonly config: SourceConfig
    readonly readAs: string | null
    readonly result: unknown
  },
): Promise<PostToKeep> {
  const { post, config } = kept
  const body =
    post.text === null
      ? post.bytes
      : new Uint8Array(await new Blob([blankSecrets(post.text, config.recipe)]).arrayBuffer())
  return {
    kind: kept.kind,
    id: publicId(shardOfId(config.id) ?? 0, ports.randomBytes),
    atS: kept.receivedS,
    contentType: post.contentType?.slice(0, 200) ?? null,
    ...(await packed(body)),
    readAs: kept.readAs,
    recipeVersion: config.recipeVersion,
    result: kept.result,
  }
}

async function packed(
  body: Uint8Array<ArrayBuffer>,
): Promise<{ body: Uint8Array; isZipped: boolean; isCut: boolean }> {
  if (body.length < ZIP_FROM_BYTES) return { body, isZipped: false, isCut: false }
  const zipped = new Uint8Array(
    await new Response(new Blob([body]).stream().pipeThrough(new CompressionStream('gzip'))).arrayBuffer(),
  )
  if (zipped.length <= POST_KEPT_MAX_BYTES) return { body: zipped, isZipped: true, isCut: false }
  return { body: body.slice(0, POST_KEPT_MAX_BYTES), isZipped: false, isCut: true }
}
