/** What a scenario needs of a served process: hangars, rigs and keys, made as an outsider makes them. */
import * as z from 'zod'
import type { ServedProcess } from './served.ts'

export type MadeRig = {
  readonly hangar: string
  readonly rig: string
  readonly source: string
  readonly key: string
}

const made = z.object({ id: z.string() })

export const ANY_SETTINGS = {
  band: { start: 15, stop: 6 },
  beadMassG: 2000,
  volumeL: 45,
  flowLPerMin: 2.5,
  reportEveryS: 300,
}

export async function callJson(
  served: ServedProcess,
  method: string,
  path: string,
  body?: unknown,
): Promise<unknown> {
  const answer = await served.call(method, path, body)
  const text = await answer.text()
  if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${text}`)
  return text === '' ? null : JSON.parse(text)
}

type RigWish = {
  slug: string
  hangar?: string
  settings?: Record<string, unknown>
  fromS?: number
  recipe?: Record<string, unknown>
}

/** A rig with a source and a key. `fromS`: its settings hold from then on, for readings of the past. */
export async function makeRig(served: ServedProcess, wish: RigWish): Promise<MadeRig> {
  const settings = wish.settings ?? ANY_SETTINGS
  const hangar =
    wish.hangar ??
    made.parse(await callJson(served, 'POST', '/v1/hangars', { name: `Hangar of ${wish.slug}` })).id
  const rig = made.parse(
    await callJson(served, 'POST', `/v1/hangars/${hangar}/rigs`, {
      name: wish.slug,
      slug: wish.slug,
      settings,
    }),
  ).id
  if (wish.fromS !== undefined) {
    await callJson(served, 'PATCH', `/v1/rigs/${rig}`, { from: timeOf(wish.fromS), settings })
  }
  const source = made.parse(
    await callJson(served, 'POST', `/v1/hangars/${hangar}/sources`, {
      name: 'hub',
      rigs: [wish.slug],
      recipe: wish.recipe ?? null,
    }),
  ).id
  const { key } = z
    .object({ key: z.string() })
    .parse(await callJson(served, 'POST', `/v1/sources/${source}/keys`))
  return { hangar, rig, source, key }
}

export function timeOf(atS: number): string {
  return new Date(atS * 1000).toISOString().replace('.000Z', 'Z')
}

const value = z.number().nullable()
const traceSchema = z.object({
  series: z.array(
    z.object({
      place: z.string(),
      points: z.array(
        z.object({ at: z.string(), humidity: value, temperature: value, min: value, max: value }),
      ),
    }),
  ),
  basis: z.string(),
})

export async function readTrace(served: ServedProcess, rig: string, query: Record<string, string>) {
  const search = new URLSearchParams(query).toString()
  return traceSchema.parse(await callJson(served, 'GET', `/v1/rigs/${rig}/trace?${search}`))
}
