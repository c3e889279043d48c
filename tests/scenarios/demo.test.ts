import { afterAll, beforeAll, expect, test } from 'vitest'
import * as z from 'zod'
import { STORIES } from '../../clients/local/demo/stories.ts'
import { removeStateDir, startServed, type ServedProcess } from './served.ts'
import { callJson } from './world.ts'

const alertsSchema = z.object({
  items: z.array(z.object({ rig: z.string(), rule: z.string(), urgency: z.string(), sentence: z.string() })),
})
const rigsSchema = z.object({ items: z.array(z.object({ id: z.string(), slug: z.string() })) })
const hangarsSchema = z.object({ items: z.array(z.object({ id: z.string(), name: z.string() })) })
const nowSchema = z.object({ heardAt: z.string(), checkedAt: z.string(), sentence: z.string() })

let served: ServedProcess
beforeAll(async () => {
  served = await startServed({ args: [] })
}, 120_000)
afterAll(async () => {
  await served.stop()
  removeStateDir(served.stateDir)
})

async function listRigs(): Promise<Map<string, string>> {
  const hangars = hangarsSchema.parse(await callJson(served, 'GET', '/v1/hangars')).items
  expect(hangars.map((each) => each.name).toSorted()).toEqual(['Club Shed', 'North Row', 'Old Barn'])
  const rigs = new Map<string, string>()
  for (const { id } of hangars) {
    for (const rig of rigsSchema.parse(await callJson(served, 'GET', `/v1/hangars/${id}/rigs`)).items) {
      rigs.set(rig.slug, rig.id)
    }
  }
  return rigs
}

/** Rule and urgency of what is open, by rig. */
async function readJobs(): Promise<Record<string, string[]>> {
  const rigs = await listRigs()
  const { items } = alertsSchema.parse(await callJson(served, 'GET', '/v1/alerts'))
  return Object.fromEntries(
    [...rigs].map(([slug, id]) => [
      slug,
      items.filter(({ rig }) => rig === id).map(({ rule, urgency }) => `${rule} ${urgency}`),
    ]),
  )
}

const told = {
  'qx-bra': [],
  'qx-dun': ['beads-spent visit'],
  'qx-elm': ['no-drop now'],
  'qx-fen': ['wet-after-flight note'],
  'qx-hob': ['silent now'],
}

test('when it says Ready, each story is there as the right job, through real ingest and the real schedule', async () => {
  expect(await readJobs()).toEqual(told)
  expect(served.output()).toMatch(/^Sign in, once: http:\/\/localhost:\d+\/join#\S{40,}$/m)
})

test('the most urgent stands first, and each says in a sentence what was seen', async () => {
  const { items } = alertsSchema.parse(await callJson(served, 'GET', '/v1/alerts'))
  const order = ['now', 'visit', 'note']
  const urgencies = items.map(({ urgency }) => order.indexOf(urgency))
  expect(urgencies).toEqual(urgencies.toSorted((a, b) => a - b))
  for (const { sentence } of items) expect(sentence).toMatch(/\d.*\.$/)
})

test('the hubs have posted up to now, but for the silent one', async () => {
  const rigs = await listRigs()
  for (const { slug } of STORIES) {
    const now = nowSchema.parse(await callJson(served, 'GET', `/v1/rigs/${rigs.get(slug)}/now`))
    const agoS = (Date.now() - Date.parse(now.heardAt)) / 1000
    if (slug === 'qx-hob') expect(agoS).toBeGreaterThan(30 * 3600)
    else expect(agoS).toBeLessThan(1000)
    expect((Date.now() - Date.parse(now.checkedAt)) / 1000).toBeLessThan(1000)
  }
})

test('a restart goes on with the same rigs and jobs', async () => {
  await served.stop()
  served = await startServed({ stateDir: served.stateDir, args: [] })
  expect(await readJobs()).toEqual(told)
}, 120_000)
