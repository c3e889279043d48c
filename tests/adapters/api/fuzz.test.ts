/** Posts of any kind through the whole Worker: no 5xx, and each answer has the form that the document promises. */
import { env } from 'cloudflare:workers'
import * as fc from 'fast-check'
import { beforeAll, expect, test } from 'vitest'
import { problem } from '../../../src/adapters/http/schemas/problem.ts'
import { readingsAnswer } from '../../../src/adapters/http/schemas/readings.ts'
import { body, mediaType } from '../../core/ingest/fuzz.ts'
import { burstGate } from '../../../src/flows/burst.ts'
import { openHttp } from '../../../src/wire.ts'
import { makeWorld, type World } from '../people/world.ts'

let world: World
let key: string
const RUNS = 2000

beforeAll(async () => {
  world = await makeWorld({
    ingest: { ...openHttp(env).ingest, burst: burstGate(() => Promise.resolve(true)) },
  })
  const hangar = await world.hangar('Fuzz')
  const { who } = await world.join(hangar, 'keeper', 'Mira')
  const rig = { name: 'One', slug: 'kestrel', settings: { band: { start: 15, stop: 6 } } }
  await world.call(who, `POST /v1/hangars/${hangar}/rigs`, rig)
  const source = await world.call(who, `POST /v1/hangars/${hangar}/sources`, {
    name: 'Hub',
    rigs: ['kestrel'],
  })
  key = (await world.call(who, `POST /v1/sources/${source.body.id}/keys`)).body.key
})

const encoding = fc.constantFrom('', '', '', 'gzip', 'identity', 'br')
const authorization = fc.constantFrom(
  'key',
  'key',
  'key',
  'key',
  'key',
  'key',
  'key',
  'basic',
  'none',
  'junk',
  'broken basic',
)

function headerFor(kind: string): Record<string, string> {
  if (kind === 'key') return { authorization: `Bearer ${key}` }
  if (kind === 'basic') return { authorization: `Basic ${btoa(`hub:${key}`)}` }
  if (kind === 'junk') return { authorization: `Bearer ${key}x` }
  return kind === 'none' ? {} : { authorization: 'Basic %%%' }
}

test(`${RUNS} generated posts`, async () => {
  const seen = new Map<number, number>()
  await fc.assert(
    fc.asyncProperty(body, mediaType, encoding, authorization, async (text, type, coded, who) => {
      const answer = await world.call({}, 'POST /v1/readings', text, {
        ...headerFor(who),
        'content-type': type ?? '',
        ...(coded === '' ? {} : { 'content-encoding': coded }),
      })
      seen.set(answer.status, (seen.get(answer.status) ?? 0) + 1)
      expect([200, 400, 401, 413, 415, 422, 429]).toContain(answer.status)
      if (answer.status === 200) {
        const parsed = readingsAnswer.parse(answer.body)
        expect(parsed).toEqual(answer.body)
        expect(parsed.received).toBe(parsed.stored + parsed.repeated + parsed.setAsideTotal)
      } else {
        expect(answer.headers.get('content-type')).toBe('application/problem+json')
        expect(problem.parse(answer.body)).toEqual(answer.body)
      }
    }),
    { numRuns: RUNS },
  )
  console.log(`answers by status: ${[...seen].map(([status, times]) => `${status} x ${times}`).join(', ')}`)
  expect(seen.get(200) ?? 0).toBeGreaterThan(20)
}, 60_000)
