/** Hubs' credentials. */
import { SOURCES_PER_HANGAR_MAX } from '../../../core/limits.ts'
import { replayPost, type ReplayOutcome } from '../../../flows/replay-post.ts'
import type { App, HttpPorts } from '../context.ts'
import { pageOf } from '../page-of.ts'
import { hangarAt } from '../place.ts'
import { ingestRefusal } from '../ingest.ts'
import { refuse, type Refusal } from '../problem.ts'
import { postView, sourceView } from '../rig-views.ts'
import { sourceOperations as operations } from '../schemas/sources.ts'
import { serve } from '../serve.ts'
import { refuseRecipe, serveRecipes } from './recipes.ts'
import { shardNumbered, shardOf } from '../shard.ts'

async function sourceOrNothing(ports: HttpPorts, id: string) {
  const row = await shardOf(ports, id).sources.byId(id)
  return row === null ? refuse('not-found') : sourceView(row)
}

function unknownRig(slug: string, given: readonly string[]) {
  const pointer = `/rigs/${given.indexOf(slug)}`
  return refuse('invalid', { errors: [{ pointer, detail: `No rig of this hangar is called ${slug}.` }] })
}

export function serveSources(app: App): void {
  serve(app, operations.listSources, async ({ at, ports, query }) => {
    const hangar = hangarAt(at)
    const rows = (await shardNumbered(ports, hangar.shard)?.sources.ofHangar(hangar.id)) ?? []
    const { items, next } = pageOf(rows, ({ id }) => id, query)
    return { items: items.map(sourceView), next }
  })
  serve(app, operations.addSource, async ({ at, ports, body, nowS }) => {
    const hangar = hangarAt(at)
    const shard = shardNumbered(ports, hangar.shard)
    if (shard === null) return refuse('unavailable')
    if ((await shard.sources.ofHangar(hangar.id)).length >= SOURCES_PER_HANGAR_MAX)
      return refuse('conflict', { detail: `At most ${SOURCES_PER_HANGAR_MAX} sources a hangar.` })
    const { name, rigs, recipe, keyInQuery } = body
    const refusal = refuseRecipe(recipe)
    if (refusal !== null) return refusal
    const added = await shard.sources.add({
      hangar: hangar.id,
      name,
      rigs,
      isKeyInQuery: keyInQuery,
      recipe,
      nowS,
    })
    return 'reason' in added ? unknownRig(added.slug, rigs) : sourceOrNothing(ports, added.id)
  })
  serve(app, operations.readSource, ({ params, ports }) => sourceOrNothing(ports, params.source))
  serve(app, operations.changeSource, async ({ params, ports, body }) => {
    const done = await shardOf(ports, params.source).sources.change(params.source, {
      ...(body.name === undefined ? {} : { name: body.name }),
      ...(body.rigs === undefined ? {} : { rigs: body.rigs }),
      ...(body.keyInQuery === undefined ? {} : { isKeyInQuery: body.keyInQuery }),
    })
    if (done === 'none') return refuse('not-found')
    return done === 'done' ? sourceOrNothing(ports, params.source) : unknownRig(done.slug, body.rigs ?? [])
  })
  serve(app, operations.removeSource, async ({ params, ports }) => {
    const isGone = await shardOf(ports, params.source).sources.remove(params.source)
    return isGone ? undefined : refuse('not-found')
  })
  serveRecipes(app)
  serveKeysAndPosts(app)
}

function serveKeysAndPosts(app: App): void {
  serve(app, operations.addKey, async ({ params, ports, nowS }) => {
    const added = await shardOf(ports, params.source).sources.addKey(params.source, nowS)
    if (!('reason' in added)) return added
    if (added.reason === 'none') return refuse('not-found')
    return refuse('conflict', { detail: 'Two keys are live already: revoke one first.' })
  })
  serve(app, operations.revokeKey, async ({ params, ports, nowS }) => {
    const isDone = await shardOf(ports, params.source).sources.revokeKey(params.source, params.key, nowS)
    return isDone ? undefined : refuse('not-found')
  })
  serve(app, operations.listPosts, async ({ params, ports, query, nowS }) => {
    const page = { after: query.after ?? null, limit: query.limit }
    const found = await shardOf(ports, params.source).posts.ofSource(params.source, page, nowS)
    return found === null ? refuse('not-found') : { items: found.items.map(postView), next: found.next }
  })
  serve(app, operations.replayPost, async ({ params, ports, nowS, context }) => {
    const { ingest, posts } = shardOf(ports, params.source)
    const post = await posts.byId(params.source, params.post)
    if (post === null) return refuse('not-found')
    const asked = { source: params.source, post, token: crypto.randomUUID(), nowS }
    const outcome = await replayPost({ store: ingest, budgets: ports.ingest.budgets }, asked)
    return 'answer' in outcome ? context.json(outcome.answer) : refusalOfReplay(outcome)
  })
}

function refusalOfReplay(outcome: Exclude<ReplayOutcome, { readonly answer: unknown }>): Refusal {
  switch (outcome.refused) {
    case 'replayed_before':
      return refuse('conflict', { detail: 'This post has been taken in already.' })
    case 'cut':
      return refuse('conflict', {
        detail: 'Only the start of this post was kept: it is too long to be read again.',
      })
    case 'gone':
      return refuse('not-found')
    default:
      return ingestRefusal(outcome)
  }
}
