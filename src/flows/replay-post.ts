/**
 * A kept post is read again, with the recipe and the rigs as they are now and its own time of receipt. Each of its
 * records is stored once, however often and by however many this is asked: readings have an identity. While something
 * of it is set aside, for what the database holds too, the post stays open and says so.
 */
import { findRecords } from '../core/ingest/find-records.ts'
import { mediaTypeOf } from '../core/ingest/media-type.ts'
import { takeIn } from '../core/ingest/take-in.ts'
import type { Budgets } from '../core/limits.ts'
import { answerOf, type IngestAnswer, type IngestRefusal } from './ingest.ts'
import type { IngestStore } from './ingest-ports.ts'
import type { KeptPost } from './ports.ts'

export type ReplayOutcome =
  | { readonly answer: IngestAnswer }
  | IngestRefusal
  | { readonly refused: 'cut' | 'replayed_before' | 'gone' }

export async function replayPost(
  ports: { readonly store: IngestStore; readonly budgets: Budgets },
  asked: { readonly source: string; readonly post: KeptPost; readonly token: string; readonly nowS: number },
): Promise<ReplayOutcome> {
  const { post, nowS, token } = asked
  if (post.replayedS !== null) return { refused: 'replayed_before' }
  if (post.isCut) return { refused: 'cut' }
  const config = await ports.store.loadOf(asked.source, nowS)
  if (config === null) return { refused: 'gone' }
  const found = findRecords({
    mediaType: mediaTypeOf(post.contentType),
    text: post.body,
    recipe: config.recipe,
    recipeVersion: config.recipeVersion,
    rigs: config.rigs.map(({ slug }) => slug),
    receivedS: post.atS,
  })
  if ('problem' in found) return { refused: 'body', ...found }
  const limit = ports.budgets.postRecordsMax
  if (found.records.length > limit) return { refused: 'too_many_records', limit, found: found.records.length }
  const taken = takeIn(found, { rigs: config.rigs, receivedS: post.atS })
  const isWhole = taken.setAside.length === 0
  const done = await ports.store.replay({
    post: post.id,
    token,
    wholeResult: isWhole ? { received: found.records.length, setAsideTotal: 0, setAside: [] } : null,
    readings: taken.readings,
    nowS,
  })
  if (done.kind === 'replayed_before') return { refused: 'replayed_before' }
  // An old post says nothing about what the pump is to do now.
  const answer = { ...answerOf({ found, taken }, done, config), pump: null }
  const { received, setAsideTotal, setAside } = answer
  if (setAsideTotal > 0)
    await ports.store.leaveOpen({ post: post.id, token, result: { received, setAsideTotal, setAside } })
  return { answer }
}
