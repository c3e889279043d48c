import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
import { EXPORT_PAGE_ROWS } from '../../../src/core/limits.ts'
import { makeWorld, type Credential, type World } from '../people/world.ts'

let world: World
let hangar: string
let keeper: Credential
let rig: string
/** More than two pages, over two places, so that every seam between pages is crossed. */
const PER_PLACE = EXPORT_PAGE_ROWS + 700

beforeAll(async () => {
  world = await makeWorld()
  hangar = await world.hangar('Export')
  keeper = (await world.join(hangar, 'keeper', 'Mira')).who
  const body = { name: 'One', slug: 'one', settings: { band: { start: 15, stop: 6 } } }
  rig = (await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, body)).body.id
  await env.DB.prepare(
    `WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n WHERE i < ?2 - 1)
     INSERT INTO reading (rig_id, place, at_s, humidity_centi_pct, temp_centi_c, pump_on, power_deci_w)
     SELECT rig_id, p.value, 1788000000 + 300 * n.i, 900 + n.i % 7, CASE n.i % 3 WHEN 0 THEN NULL ELSE 1825 END,
            CASE n.i % 4 WHEN 0 THEN NULL ELSE n.i % 2 END, CASE n.i % 5 WHEN 0 THEN 41 END
     FROM rig, n, json_each('[0, 2]') p WHERE public_id = ?1`,
  )
    .bind(rig, PER_PLACE)
    .run()
})

async function source(slug: string): Promise<Credential> {
  const made = await world.call(keeper, `POST /v1/hangars/${hangar}/sources`, { name: slug, rigs: [slug] })
  return { bearer: (await world.call(keeper, `POST /v1/sources/${made.body.id}/keys`)).body.key }
}

describe('the CSV of a rig', () => {
  test('holds every reading once, whatever the pages', async () => {
    const answer = await world.call(keeper, `GET /v1/rigs/${rig}/export.csv`)
    const lines = answer.text.trimEnd().split('\r\n')
    expect(lines[0]).toBe('at,humidity,temperature,pump,power,place,rig')
    expect(lines).toHaveLength(1 + 2 * PER_PLACE)
    expect(new Set(lines).size).toBe(lines.length)
    expect(lines[1]).toBe('2026-08-29T10:40:00Z,9,,,4.1,return,one')
    expect(lines[2]).toBe('2026-08-29T10:45:00Z,9.01,18.25,on,,return,one')
    expect(answer.headers.get('content-disposition')).toBe('attachment; filename="one.csv"')
  })

  test('goes back in through ingest and gives the same readings', async () => {
    const csv = (await world.call(keeper, `GET /v1/rigs/${rig}/export.csv`)).text
    const [head, ...lines] = csv.trimEnd().split('\r\n')
    const body = { name: 'Two', slug: 'two', settings: { band: { start: 15, stop: 6 } } }
    const copy = (await world.call(keeper, `POST /v1/hangars/${hangar}/rigs`, body)).body.id
    const hub = await source('two')
    for (let from = 0; from < lines.length; from += 500) {
      const part = [head, ...lines.slice(from, from + 500)].join('\r\n').replaceAll(',one', ',two')
      const answer = await world.call(hub, 'POST /v1/readings', part, { 'content-type': 'text/csv' })
      expect(answer.body).toMatchObject({ readAs: 'CSV', setAsideTotal: 0 })
    }
    const back = (await world.call(keeper, `GET /v1/rigs/${copy}/export.csv`)).text
    expect(back).toBe(csv.replaceAll(',one', ',two'))
  })
})

describe('the export of a hangar', () => {
  test('has what was entered, what was measured and an end, and no secret', async () => {
    const hub = await source('one')
    await world.call(keeper, `POST /v1/rigs/${rig}/logbook`, {
      at: '2026-09-01T06:00:00Z',
      what: 'bake',
      detail: { tempC: 120 },
    })
    const answer = await world.call(keeper, `GET /v1/hangars/${hangar}/export`)
    const lines = answer.text
      .trimEnd()
      .split('\n')
      .map((text) => JSON.parse(text))
    expect(lines[0]).toMatchObject({ kind: 'hangar', name: 'Export' })
    expect(lines).toContainEqual(expect.objectContaining({ kind: 'rig', slug: 'one', name: 'One' }))
    expect(lines).toContainEqual(
      expect.objectContaining({ kind: 'log', what: 'bake', detail: { tempC: '120' } }),
    )
    expect(lines).toContainEqual(expect.objectContaining({ kind: 'source', name: 'one', rigs: ['one'] }))
    const csv = lines.filter((one) => one.kind === 'readings' && one.rig === 'one').map((one) => one.csv)
    expect(csv.join('').trimEnd().split('\r\n')).toHaveLength(1 + 2 * PER_PLACE)
    expect(lines.at(-1)).toMatchObject({ kind: 'end' })
    expect(answer.text).not.toContain(hub.bearer?.slice(0, 30))
  })
})
