import * as fc from 'fast-check'
import { expect, test } from 'vitest'
import { cutCsv, type CsvPost } from '../../clients/hub/csv-posts.ts'

const header = 'at,humidity\n'

async function cut(chunks: string[], options = {}): Promise<CsvPost[]> {
  const posts: CsvPost[] = []
  for await (const post of cutCsv(chunks, options)) posts.push(post)
  return posts
}

/** RFC 4180 section 2: fields in quotes may hold commas, doubled quotes and line breaks. */
const field = fc.oneof(
  fc.stringMatching(/^[a-z0-9.]{0,5}$/),
  fc.stringMatching(/^[a-z",\n]{0,6}$/).map((text) => `"${text.replaceAll('"', '""')}"`),
)
const record = fc.tuple(fc.stringMatching(/^[0-9]{3}$/), field).map(([at, value]) => `${at},${value}\n`)

test('posts together are the file, record for record, wherever the chunks are cut', async () => {
  await fc.assert(
    fc.asyncProperty(
      fc.array(record, { minLength: 1, maxLength: 30 }),
      fc.array(fc.nat(400), { maxLength: 6 }),
      fc.integer({ min: 1, max: 7 }),
      async (records, cuts, recordsPerPost) => {
        const text = header + records.join('')
        const places = [0, ...cuts.filter((at) => at < text.length).toSorted((a, b) => a - b), text.length]
        const chunks = places.slice(1).map((to, i) => text.slice(places[i], to))
        const posts = await cut(chunks, { recordsPerPost })
        expect(posts.map((post) => post.text.slice(header.length)).join('')).toBe(records.join(''))
        expect(posts.every((post) => post.text.startsWith(header))).toBe(true)
        expect(Math.max(...posts.map((post) => post.records))).toBeLessThanOrEqual(recordsPerPost)
        expect(posts.at(-1)?.endsAtByte).toBe(Buffer.byteLength(text))
      },
    ),
    { seed: 1 },
  )
})

test('going on behind a post gives the posts that were left', async () => {
  const text = header + Array.from({ length: 23 }, (_, i) => `${i},"a\nü"\n`).join('')
  const all = await cut([text], { recordsPerPost: 5 })
  for (const [i, post] of all.entries()) {
    const rest = await cut([text], { recordsPerPost: 5, skipBytes: post.endsAtByte })
    expect(rest).toEqual(all.slice(i + 1))
  }
})

test('each post knows the line it begins on; blank lines and a missing last break are fine', async () => {
  const posts = await cut(['at,humidity\r\n1,2\r\n\r\n3,"x\r\ny"\r\n4,5'], { recordsPerPost: 1 })
  expect(posts.map((post) => post.firstLine)).toEqual([2, 4, 6])
  expect(posts.map((post) => post.text)).toEqual([
    'at,humidity\r\n1,2\r\n',
    'at,humidity\r\n3,"x\r\ny"\r\n',
    'at,humidity\r\n4,5',
  ])
})

test('a post stays below a megabyte', async () => {
  const wide = `1,"${'x'.repeat(300)}"\n`
  const posts = await cut([header, ...Array.from({ length: 5000 }, () => wide)])
  expect(posts.length).toBe(2)
  expect(Math.max(...posts.map((post) => Buffer.byteLength(post.text)))).toBeLessThanOrEqual(1_048_576)
  expect(posts.reduce((sum, post) => sum + post.records, 0)).toBe(5000)
})

test('a file with a header alone has no post', async () => {
  expect(await cut(['at,humidity'])).toEqual([])
  expect(await cut([])).toEqual([])
})

test('blank lines above the header are none: every post has the header', async () => {
  const posts = await cut([`\r\n\n${header}001,9\n002,8\n`], { recordsPerPost: 1 })
  expect(posts.map(({ text, firstLine }) => [text, firstLine])).toEqual([
    [`${header}001,9\n`, 4],
    [`${header}002,8\n`, 5],
  ])
})
