/** From the text of a post to its records, by what the content type says and what the text turns out to be. */
import type { FindResult } from './found.ts'
import { findNative } from './native.ts'

export type PostText = {
  /** Media type without parameters, lower case; `null` if none was sent. */
  readonly mediaType: string | null
  readonly text: string
  /** The source's recipe, already checked; `null`: native names. */
  readonly recipe: null
  readonly recipeVersion: number
}

export function findRecords(post: PostText): FindResult {
  const parsed = parseJson(post.text)
  if (!parsed.ok) return { problem: 'not_parseable', detail: parsed.detail }
  return findNative(parsed.value, 'native JSON')
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
