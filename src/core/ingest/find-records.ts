/**
 * From the text of a post to its records: by what the content type says, and where hubs are known to say the wrong
 * thing, by what the text is. `readAs` says which it was.
 */
import { findByRecipe } from './by-recipe.ts'
import { findCsv, findForm, looksLikeCsv } from './flat-bodies.ts'
import type { FindResult } from './found.ts'
import { findNative } from './native.ts'
import type { Recipe } from './recipe.ts'
import { findSenml, looksLikeSenml } from './senml.ts'

export type PostText = {
  /** Media type without parameters, lower case; `null` if none was sent. */
  readonly mediaType: string | null
  readonly text: string
  /** The source's recipe; `null`: native names. */
  readonly recipe: Recipe | null
  readonly recipeVersion: number
  /** Slugs of the rigs that the source serves. */
  readonly rigs: readonly string[]
  readonly receivedS: number
}

const FORM_TYPE = 'application/x-www-form-urlencoded'

export function findRecords(post: PostText): FindResult {
  const { mediaType } = post
  if (mediaType === 'text/csv') return findCsv(post.text, post)
  if (mediaType === FORM_TYPE) return formOrJson(post)
  if (mediaType === null || mediaType === 'text/plain') return detect(post)
  if (mediaType === 'application/json' || mediaType.endsWith('+json') || mediaType === 'text/json')
    return fromJson(post, '')
  return {
    problem: 'unsupported_type',
    detail: `${mediaType.slice(0, 60)} is not read: send application/json, application/senml+json, text/csv or a form`,
  }
}

/** Command-line tools say "form" unless told otherwise, whatever is in the body. */
function formOrJson(post: PostText): FindResult {
  if (/^\s*[[{]/.test(post.text)) {
    const json = fromJson(post, ', though its content type says form')
    if (!('problem' in json && json.problem === 'not_parseable')) return json
  }
  return findForm(post.text, post)
}

function detect(post: PostText): FindResult {
  const said = post.mediaType === null ? 'has no content type' : 'says plain text'
  if (/^\s*[[{]/.test(post.text)) return fromJson(post, `, though it ${said}`)
  if (looksLikeCsv(post.text)) return renamed(findCsv(post.text, post), `, though it ${said}`)
  if (/^[\w.-]+=/.test(post.text)) return renamed(findForm(post.text, post), `, though it ${said}`)
  return fromJson(post, `, though it ${said}`)
}

function renamed(found: FindResult, note: string): FindResult {
  return 'problem' in found ? found : { ...found, readAs: found.readAs + note }
}

function fromJson(post: PostText, note: string): FindResult {
  const parsed = parseJson(post.text)
  if (!parsed.ok) return { problem: 'not_parseable', detail: parsed.detail }
  if (post.mediaType === 'application/senml+json' || (post.recipe === null && looksLikeSenml(parsed.value)))
    return renamed(findSenml(parsed.value, post), note)
  if (post.recipe === null) return findNative(parsed.value, `native JSON${note}`)
  const readAs = `JSON by recipe ${post.recipeVersion}${note}`
  return findByRecipe(parsed.value, post.recipe, { readAs, receivedS: post.receivedS })
}

type Parsed = { readonly ok: true; readonly value: unknown } | { readonly ok: false; readonly detail: string }

export function parseJson(text: string): Parsed {
  try {
    return { ok: true, value: JSON.parse(text) as unknown }
  } catch (error) {
    return {
      ok: false,
      detail: error instanceof SyntaxError ? `not JSON: ${error.message.slice(0, 120)}` : 'not JSON',
    }
  }
}
