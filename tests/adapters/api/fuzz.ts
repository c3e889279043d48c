/** Posts of any kind, with the headers that hubs send and those they do not; and what every answer has to be. */
import * as fc from 'fast-check'
import { expect } from 'vitest'
import { problem } from '../../../src/adapters/http/schemas/problem.ts'
import { readingsAnswer } from '../../../src/adapters/http/schemas/readings.ts'
import { body, mediaType } from '../../core/ingest/fuzz.ts'

export type GeneratedPost = {
  readonly path: string
  readonly text: string
  /** The bytes are really zipped, whatever the headers say. */
  readonly isZipped: boolean
  readonly headers: Readonly<Record<string, string>>
}

/** Each header is mostly as it should be: what is refused early tries nothing else. */
const mostly = (usual: string, odd: readonly string[]) =>
  fc.oneof({ weight: 12, arbitrary: fc.constant(usual) }, { weight: 1, arbitrary: fc.constantFrom(...odd) })

const headerOfKey = (key: string) =>
  fc.oneof(
    {
      weight: 12,
      arbitrary: fc.constantFrom(`Bearer ${key}`, `bearer  ${key} `, `Basic ${btoa(`hub:${key}`)}`),
    },
    {
      weight: 1,
      arbitrary: fc.constantFrom(
        '',
        'Bearer',
        'Basic %%%',
        `Basic ${btoa(key)}`,
        `Bearer ${key}x`,
        `Digest ${key}`,
        `Bearer ${key.slice(0, -1)}`,
      ),
    },
    { weight: 1, arbitrary: fc.string({ unit: 'binary-ascii', maxLength: 80 }) },
  )
const parameters = fc.constantFrom(
  '',
  '; charset=utf-8',
  ';charset=iso-8859-1',
  '; boundary=',
  ' ;',
  ', text/csv',
)
const contentType = fc.oneof(
  { weight: 12, arbitrary: fc.tuple(mediaType, parameters).map(([type, rest]) => `${type ?? ''}${rest}`) },
  { weight: 1, arbitrary: mediaType.map((type) => (type ?? '').toUpperCase()) },
  { weight: 1, arbitrary: fc.string({ unit: 'binary-ascii', maxLength: 60 }) },
)
const contentEncoding = mostly('', ['gzip', 'GZIP', 'x-gzip', 'identity', 'br', 'gzip, gzip'])
const contentLength = mostly('', ['0', '1', '-1', '1e9', '1048577', 'many', '99999999999999999999'])
/** Headers that proxies and programs add, and names that mean something to programs. */
const other = fc.dictionary(
  fc.constantFrom(
    'accept',
    'accept-encoding',
    'expect',
    'range',
    'if-match',
    'x-forwarded-for',
    'origin',
    'cookie',
    'x-http-method-override',
    'constructor',
    'date',
  ),
  fc.string({ unit: 'binary-ascii', maxLength: 40 }),
  { maxKeys: 3 },
)
const query = fc.oneof(
  { weight: 6, arbitrary: fc.constant('') },
  { weight: 1, arbitrary: fc.constantFrom('?', '?key=', '?key=%E0%A4%A', '?key[]=1&key=2', '?__proto__=1') },
)

/** What no header may hold is left out, as the client's own library would. */
const asHeader = (text: string) => text.replaceAll(/[^\x20-\x7e]/g, '')

export const generatedPost = (key: string): fc.Arbitrary<GeneratedPost> =>
  fc
    .record({
      text: body,
      authorization: headerOfKey(key),
      contentType,
      contentEncoding,
      contentLength,
      other,
      query,
      isZipped: fc.nat({ max: 19 }).map((one) => one === 0),
    })
    .map(({ text, isZipped, query: asked, other: more, ...rest }) => {
      const named = {
        ...more,
        authorization: rest.authorization,
        'content-type': rest.contentType,
        'content-encoding': rest.contentEncoding,
        'content-length': rest.contentLength,
      }
      const headers = Object.entries(named).map(([name, value]) => [name, asHeader(value).trim()] as const)
      return {
        path: `/v1/readings${asked}`,
        text,
        isZipped,
        headers: Object.fromEntries(headers.filter(([, value]) => value !== '')),
      }
    })

const STATUSES = [200, 400, 401, 413, 415, 422, 429]

/** No 5xx, the form that the document promises, and every record accounted for. */
export function expectPromised(answer: {
  readonly status: number
  readonly contentType: string | null
  readonly body: unknown
}): void {
  expect(STATUSES).toContain(answer.status)
  if (answer.status === 200) {
    const parsed = readingsAnswer.parse(answer.body)
    expect(parsed).toEqual(answer.body)
    expect(parsed.received).toBe(parsed.stored + parsed.repeated + parsed.setAsideTotal)
  } else {
    expect(answer.contentType).toBe('application/problem+json')
    expect(problem.parse(answer.body)).toEqual(answer.body)
  }
}
