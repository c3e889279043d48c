/** What a recipe would make of a post, with nothing stored: seen before it is saved. */
import { findRecords } from '../core/ingest/find-records.ts'
import type { BodyProblem } from '../core/ingest/found.ts'
import { mediaTypeOf } from '../core/ingest/media-type.ts'
import { readRecipe, type RecipeProblem } from '../core/ingest/recipe.ts'
import type { KeptReading, SetAside } from '../core/ingest/reading-record.ts'
import { pumpAdvice, takeIn, type PumpAdvice } from '../core/ingest/take-in.ts'
import { SET_ASIDE_SHOWN_MAX } from '../core/limits.ts'
import { readRigFile } from '../core/rig-file/rig-file.ts'
import type { SourceRow, ShardPorts } from './ports.ts'

export type Tried = {
  readonly readAs: string
  readonly received: number
  readonly readings: readonly (Omit<KeptReading, 'rigKey'> & { readonly slug: string })[]
  readonly setAside: readonly SetAside[]
  readonly setAsideTotal: number
  readonly pump: PumpAdvice
}

export type TryResult =
  | { readonly tried: Tried }
  | { readonly badRecipe: readonly RecipeProblem[] }
  | { readonly badBody: BodyProblem }

export type TryPost = {
  readonly contentType: string | null
  readonly text: string
  readonly receivedS: number
}

export async function tryRecipe(
  shard: Pick<ShardPorts, 'rigs'>,
  source: SourceRow,
  asked: { readonly recipe: unknown; readonly post: TryPost },
): Promise<TryResult> {
  const read = asked.recipe === null ? ({ ok: true, recipe: null } as const) : readRecipe(asked.recipe)
  if (!read.ok) return { badRecipe: read.problems }
  const { post } = asked
  const found = findRecords({
    mediaType: mediaTypeOf(post.contentType),
    text: post.text,
    recipe: read.recipe,
    recipeVersion: source.recipeVersion + 1,
    rigs: source.rigs,
    receivedS: post.receivedS,
  })
  if ('problem' in found) return { badBody: found }
  const rigs = await rigsOf(shard, source, post.receivedS)
  const taken = takeIn(found, { rigs, receivedS: post.receivedS })
  const slugs = new Map(rigs.map(({ key, slug }) => [key, slug]))
  return {
    tried: {
      readAs: found.readAs,
      received: found.records.length,
      readings: taken.readings.map(({ rigKey, ...rest }) => ({ ...rest, slug: slugs.get(rigKey) ?? '' })),
      setAside: taken.setAside.slice(0, SET_ASIDE_SHOWN_MAX),
      setAsideTotal: taken.setAside.length,
      pump: pumpAdvice(taken.readings, rigs),
    },
  }
}

/** The rigs of the source with the band that held then. Keys are made up: nothing is stored. */
async function rigsOf(shard: Pick<ShardPorts, 'rigs'>, source: SourceRow, atS: number) {
  const [rigs, settings] = await Promise.all([
    shard.rigs.ofHangar(source.hangar),
    shard.rigs.settingsOfHangar(source.hangar),
  ])
  return rigs
    .filter(({ slug }) => source.rigs.includes(slug))
    .map(({ id, slug }, index) => {
      const dated = settings.get(id) ?? []
      const file = readRigFile((dated.findLast(({ fromS }) => fromS <= atS) ?? dated[0])?.settings)
      if (!file.ok) throw new Error(`the settings of rig ${slug} cannot be read`)
      return { key: index + 1, slug, band: file.settings.band, isOff: false }
    })
}
