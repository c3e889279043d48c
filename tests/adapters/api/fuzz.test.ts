/** Posts of any kind through the whole Worker and its database: no 5xx, and each answer has the form that the document promises. */
import { env } from 'cloudflare:workers'
import * as fc from 'fast-check'
import { beforeAll, expect, test } from 'vitest'
import { burstGate } from '../../../src/flows/burst.ts'
import { openHttp } from '../../../src/wire.ts'
import { makeWorld, type World } from '../people/world.ts'
import { expectPromised, generatedPost } from './fuzz.ts'
import { send } from './send.ts'

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

test(`${RUNS} generated posts`, async () => {
  const seen = new Map<number, number>()
  await fc.assert(
    fc.asyncProperty(generatedPost(key), async (post) => {
      const answer = await send(world.app, post)
      seen.set(answer.status, (seen.get(answer.status) ?? 0) + 1)
      expectPromised(answer)
    }),
    { numRuns: RUNS },
  )
  console.log(`answers by status: ${[...seen].map(([status, times]) => `${status} x ${times}`).join(', ')}`)
  expect(seen.get(200) ?? 0).toBeGreaterThan(20)
}, 60_000)
