/** A hub's credential, its recipe, and its last posts. */
import { z } from '@hono/zod-openapi'
import { SOURCE_RIGS_MAX } from '../../../core/limits.ts'
import { operation } from '../operation.ts'
import { id, listOf, name, page, slug, time } from './common.ts'
import { readingsAnswer } from './readings.ts'
import { place } from './rigs.ts'

/** How to read a hub's posts: JSON Pointers, units, matches. Checked by the reader that reads the posts. */
export const recipe = z.record(z.string(), z.unknown()).openapi('Recipe', {
  example: {
    each: '/data',
    at: { from: '/ts', unit: 's' },
    humidity: { from: '/hum', unit: '%' },
    temperature: { from: '/tmp', unit: 'degF' },
    pump: { from: '/sw', on: ['on', 1, true] },
  },
})

export const key = z.object({ id, madeAt: time, revokedAt: time.nullable() }).openapi('SourceKey')
export const source = z
  .object({
    id,
    hangar: id,
    name: z.string(),
    rigs: z.array(z.string()),
    /** Takes `?key=` too, for hubs that cannot set a header. */
    keyInQuery: z.boolean(),
    recipe: recipe.nullable(),
    recipeVersion: z.int(),
    madeAt: time,
    heardAt: time.nullable(),
    keys: z.array(key),
  })
  .openapi('Source')

export const post = z
  .object({
    id,
    kind: z.enum(['set-aside', 'good']),
    at: time,
    contentType: z.string().nullable(),
    body: z.string(),
    /** Of the body only the first 64 KiB are shown here. */
    isBodyCut: z.boolean(),
    /** Only the start was kept: it cannot be replayed. */
    isCut: z.boolean(),
    readAs: z.string().nullable(),
    recipeVersion: z.int(),
    result: z.unknown(),
    replayedAt: time.nullable(),
  })
  .openapi('Post')

/** As if it had been posted now: `stored` counts what would be kept, before the database has been asked. */
export const tried = readingsAnswer
  .extend({
    readings: z.array(
      z.object({
        rig: z.string(),
        place,
        at: time,
        humidity: z.number().nullable(),
        temperature: z.number().nullable(),
        pump: z.boolean().nullable(),
        power: z.number().nullable(),
      }),
    ),
  })
  .openapi('Tried')

/** `recipe` is `null` where none can be proposed: `why` says so in a sentence, and is `null` otherwise. */
export const proposal = z
  .object({
    recipe: recipe.nullable(),
    reasons: z.array(
      z.object({
        /** A key of the recipe. */
        field: z.string(),
        pointer: z.string(),
        reason: z.string(),
      }),
    ),
    /** What a person should know, or has to add. */
    notes: z.array(z.string()),
    why: z.string().nullable(),
  })
  .openapi('Proposal')

/** A kept post, or a body as a hub would send it. */
const somePost = {
  post: id.optional(),
  body: z.string().max(65_536).optional(),
  contentType: z.string().max(200).nullable().default(null),
}

type SomePost = { readonly post?: string | undefined; readonly body?: string | undefined }

function isOne({ post: kept, body }: SomePost): boolean {
  return (kept === undefined) !== (body === undefined)
}

const NOT_ONE = { message: 'Give the id of a kept post, or a body.', path: ['post'] }

const rigs = z
  .array(slug)
  .min(1)
  .max(SOURCE_RIGS_MAX, { message: `At most ${SOURCE_RIGS_MAX} rigs a source: add another for the rest.` })

export const sourceOperations = {
  listSources: operation({
    method: 'get',
    path: '/v1/hangars/{hangar}/sources',
    access: 'keeper',
    summary: 'Sources of a hangar',
    query: page,
    answer: listOf(source),
  }),
  addSource: operation({
    method: 'post',
    path: '/v1/hangars/{hangar}/sources',
    access: 'keeper',
    summary: 'Add a source for these rigs (by slug); make its key next',
    status: 201,
    body: z.object({
      name,
      rigs,
      recipe: recipe.nullable().default(null),
      keyInQuery: z.boolean().default(false),
    }),
    answer: source,
  }),
  readSource: operation({
    method: 'get',
    path: '/v1/sources/{source}',
    access: 'keeper',
    summary: 'One source',
    answer: source,
  }),
  changeSource: operation({
    method: 'patch',
    path: '/v1/sources/{source}',
    access: 'keeper',
    summary: 'Rename a source, or change its rigs',
    body: z.object({ name: name.optional(), rigs: rigs.optional(), keyInQuery: z.boolean().optional() }),
    answer: source,
  }),
  removeSource: operation({
    method: 'delete',
    path: '/v1/sources/{source}',
    access: 'keeper',
    summary: 'Delete a source with its keys and kept posts; its readings stay',
  }),
  setRecipe: operation({
    method: 'put',
    path: '/v1/sources/{source}/recipe',
    access: 'keeper',
    summary: 'Save a recipe as the next version; `null` goes back to native names',
    body: z.object({ recipe: recipe.nullable() }),
    answer: source,
  }),
  addKey: operation({
    method: 'post',
    path: '/v1/sources/{source}/keys',
    access: 'keeper',
    summary: 'Make a key; it is shown once. Two may be live at a time',
    status: 201,
    answer: z.object({ id, key: z.string() }),
  }),
  revokeKey: operation({
    method: 'delete',
    path: '/v1/sources/{source}/keys/{key}',
    access: 'keeper',
    summary: 'Revoke a key',
  }),
  tryRecipe: operation({
    method: 'post',
    path: '/v1/sources/{source}/recipe/try',
    access: 'keeper',
    writes: false,
    summary: 'What a recipe makes of a kept post, or of a body given here; nothing is stored',
    body: z
      .object({
        /** `null`: native names. */
        recipe: recipe.nullable(),
        ...somePost,
      })
      .refine(isOne, NOT_ONE)
      .openapi({ example: { recipe: null, body: '{"humidity": 11.4}', contentType: 'application/json' } }),
    answer: tried,
  }),
  proposeRecipe: operation({
    method: 'post',
    path: '/v1/sources/{source}/recipe/propose',
    access: 'keeper',
    writes: false,
    summary:
      'A recipe for a kept post, or for a body given here, with the reason for each part; nothing is saved',
    body: z
      .object(somePost)
      .refine(isOne, NOT_ONE)
      .openapi({ example: { body: '{"hum": 11.4, "tmp": 64.8}', contentType: 'application/json' } }),
    answer: proposal,
  }),
  listPosts: operation({
    method: 'get',
    path: '/v1/sources/{source}/posts',
    access: 'keeper',
    summary: 'Posts kept: those with something set aside, and the last good ones; secrets blanked',
    query: page,
    answer: listOf(post),
  }),
  replayPost: operation({
    method: 'post',
    path: '/v1/sources/{source}/posts/{post}/replay',
    access: 'keeper',
    summary: 'Read a kept post again with the recipe as it is now; nothing is stored twice',
    answer: readingsAnswer,
  }),
} as const
