/** Recipes: checked before they are saved, and tried before that. */
import { PLACES } from '../../../core/fold/inputs.ts'
import { mediaTypeOf } from '../../../core/ingest/media-type.ts'
import { proposeRecipe, type Proposal } from '../../../core/ingest/propose.ts'
import { readRecipe, type RecipeProblem } from '../../../core/ingest/recipe.ts'
import { tryRecipe, type Tried, type TryPost } from '../../../flows/try-recipe.ts'
import type { App, HttpPorts } from '../context.ts'
import { bodyRefusal } from '../ingest.ts'
import { refuse, type Refusal } from '../problem.ts'
import { sourceView } from '../rig-views.ts'
import { sourceOperations as operations } from '../schemas/sources.ts'
import { serve } from '../serve.ts'
import { shardOf } from '../shard.ts'
import { timeOf } from '../time.ts'

/** `null` if it can be saved. */
export function refuseRecipe(recipe: unknown): Refusal | null {
  if (recipe === null) return null
  const read = readRecipe(recipe)
  return read.ok ? null : badRecipe(read.problems)
}

function badRecipe(problems: readonly RecipeProblem[]): Refusal {
  const errors = problems.map(({ pointer, detail }) => ({ pointer: `/recipe${pointer}`, detail }))
  return refuse('invalid', { errors })
}

export function serveRecipes(app: App): void {
  serve(app, operations.setRecipe, async ({ params, ports, body, nowS }) => {
    const refusal = refuseRecipe(body.recipe)
    if (refusal !== null) return refusal
    const { sources } = shardOf(ports, params.source)
    if ((await sources.setRecipe(params.source, body.recipe, nowS)) === null) return refuse('not-found')
    const row = await sources.byId(params.source)
    return row === null ? refuse('not-found') : sourceView(row)
  })
  serve(app, operations.tryRecipe, async ({ params, ports, body, nowS }) => {
    const shard = shardOf(ports, params.source)
    const source = await shard.sources.byId(params.source)
    const post = await postFor(ports, params.source, body, nowS)
    if (source === null || post === null) return refuse('not-found')
    const result = await tryRecipe(shard, source, { recipe: body.recipe, post })
    if ('badRecipe' in result) return badRecipe(result.badRecipe)
    return 'badBody' in result ? bodyRefusal(result.badBody) : triedView(result.tried)
  })
  serve(app, operations.proposeRecipe, async ({ params, ports, body, nowS }) => {
    const source = await shardOf(ports, params.source).sources.byId(params.source)
    const post = await postFor(ports, params.source, body, nowS)
    if (source === null || post === null) return refuse('not-found')
    const { text, receivedS } = post
    const mediaType = mediaTypeOf(post.contentType)
    return proposalView(proposeRecipe({ mediaType, text, rigs: source.rigs, receivedS }))
  })
}

type Asked = {
  readonly post?: string | undefined
  readonly body?: string | undefined
  readonly contentType: string | null
}

async function postFor(
  ports: HttpPorts,
  source: string,
  asked: Asked,
  nowS: number,
): Promise<TryPost | null> {
  if (asked.post === undefined)
    return { contentType: asked.contentType, text: asked.body ?? '', receivedS: nowS }
  const kept = await shardOf(ports, source).posts.byId(source, asked.post)
  return kept === null ? null : { contentType: kept.contentType, text: kept.body, receivedS: kept.atS }
}

function proposalView(proposal: Proposal) {
  return proposal.recipe === null
    ? { recipe: null, reasons: [], notes: [], why: proposal.why }
    : {
        recipe: { ...proposal.recipe },
        reasons: [...proposal.reasons],
        notes: [...proposal.notes],
        why: null,
      }
}

function triedView(tried: Tried) {
  return {
    readAs: tried.readAs,
    received: tried.received,
    stored: tried.readings.length,
    repeated: 0,
    setAsideTotal: tried.setAsideTotal,
    setAside: [...tried.setAside],
    pump: tried.pump,
    readings: tried.readings.map((reading) => ({
      rig: reading.slug,
      place: PLACES[reading.place] ?? ('return' as const),
      at: timeOf(reading.atS),
      humidity: reading.humidityCentiPct === null ? null : reading.humidityCentiPct / 100,
      temperature: reading.tempCentiC === null ? null : reading.tempCentiC / 100,
      pump: reading.pumpOn === null ? null : reading.pumpOn === 1,
      power: reading.powerDeciW === null ? null : reading.powerDeciW / 10,
    })),
  }
}
