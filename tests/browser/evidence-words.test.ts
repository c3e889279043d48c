/** Every number that a rule hands over as evidence has a written name: the names are read from the rules' own source. */
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { expect, test } from 'vitest'
import { projectDir } from '../../clients/local/paths.ts'
import { isNamed, valueText, words } from '../../clients/web/src/screens/rig/evidence-words.ts'

const folder = join(projectDir, 'src/core/rules')

/** The names in the object that opens at `from`: what stands before a colon or alone, between commas of its own level. */
function keysAt(text: string, from: number): string[] {
  const keys: string[] = []
  let depth = 0
  let part = ''
  for (const sign of text.slice(from)) {
    if ('{[('.includes(sign)) depth++
    if ('}])'.includes(sign)) depth--
    if (depth === 0 || (depth === 1 && sign === ',')) {
      const key = /^\s*(\w+)\s*(:|$)/.exec(part)?.[1]
      if (key !== undefined) keys.push(key)
      part = ''
      if (depth === 0) break
    } else if (depth > 1 || sign !== '{') part += sign
  }
  return keys
}

/** Objects that are evidence: given under that name, added to other evidence, or returned where `Evidence` is promised. */
const starts = [/\bevidence: \{/g, /\{\s*\.\.\.[\w.]+\.evidence\b/g, /\): Evidence \{[^]*?\breturn \{/g]

function evidenceNames(file: string): string[] {
  const text = readFileSync(join(folder, file), 'utf8').replaceAll(/\/\*[^]*?\*\/|\/\/.*/g, '')
  return starts.flatMap((start) =>
    [...text.matchAll(start)].flatMap((found) => {
      const at = found.index + found[0].lastIndexOf('{')
      return keysAt(text, at)
    }),
  )
}

const files = readdirSync(folder).filter((name) => name.endsWith('.ts'))
const all = new Set(files.flatMap(evidenceNames))

test('the names are found in the source of the rules', () => {
  expect(all.size).toBeGreaterThan(70)
  for (const name of ['dropShare', 't40H', 'daysLeftHigh', 'takenOverBy', 'endedBy', 'spikePct', 'gPerH'])
    expect(all).toContain(name)
})

test('every one of them has words', () => {
  expect([...all].filter((name) => !isNamed(name))).toEqual([])
})

test.each([
  ['t40H', 7.4, 'Until the metal is at 40 %, at the earliest', '7.4 h'],
  ['dropShare', 0.43, 'Share of the way down', '43 %'],
  ['ingressPerH', 0.079, 'Hangar air getting in', '7.9 % of the air an hour'],
  ['tempSpanC', 3, 'Temperature moved by', '3.0 °C'],
  ['by', 'power', 'Told by', 'the pump’s power'],
  ['isFlat', false, 'Every reading the same', 'no'],
  ['surgePct', null, 'Rise after the start', 'not known'],
])('%s of %s is "%s: %s"', (name, value, says, text) => {
  expect(words(name)).toBe(says)
  expect(valueText(name, value).replaceAll('\u202f', ' ')).toBe(text)
})
