import { describe, expect, test } from 'vitest'
import { sourceKey } from '../../../src/core/ids/source-key.ts'
import { blankSecrets } from '../../../src/core/ingest/blank-secrets.ts'
import { readRecipe, type Recipe } from '../../../src/core/ingest/recipe.ts'

const KEY = sourceKey(0, (bytes) => new Uint8Array(bytes).fill(0xa7))

function recipeOf(value: unknown): Recipe {
  const read = readRecipe(value)
  if (!read.ok) throw new Error('not a recipe')
  return read.recipe
}

describe('of a post that is kept', () => {
  test.each([
    ['{"password":"sesame","hum":9}', '{"password":"***","hum":9}'],
    ['{"api_key" : "a\\"b", "hum":9}', '{"api_key" : "***", "hum":9}'],
    ['hum=9&authToken=abc&pass=1', 'hum=9&authToken=***&pass=***'],
    ['{"url":"http://hub/x?token=abc"}', '{"url":"http://hub/x?token=***"}'],
    [`{"key":"${KEY}"}`, '{"key":"***"}'],
    [`key=${KEY}&hum=9`, 'key=***&hum=9'],
  ])('secrets are blanked: %s', (text, kept) => {
    expect(blankSecrets(text, null)).toBe(kept)
  })
  test.each(['{"data":[{"key":"dev7","value":9.5}]}', 'key=dev7&hum=9.5'])(
    'a device that is called "key" stays: %s',
    (text) => expect(blankSecrets(text, null)).toBe(text),
  )
  test('what the recipe reads stays, and nothing else', () => {
    const recipe = recipeOf({
      each: '/data',
      humidity: { from: '/auth_hum' },
      rig: { from: '/token', match: { dev7: 'kestrel' } },
    })
    const text = '{"secret":"s","data":[{"token":"dev7","auth_hum":"9.5","auth_tmp":"x"}]}'
    expect(blankSecrets(text, recipe)).toBe(
      '{"secret":"***","data":[{"token":"dev7","auth_hum":"9.5","auth_tmp":"***"}]}',
    )
    expect(blankSecrets('token=dev7&auth_hum=9&secret=s', recipe)).toBe('token=dev7&auth_hum=9&secret=***')
  })
})
