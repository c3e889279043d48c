import { env } from 'cloudflare:workers'
import { beforeAll, describe, expect, test } from 'vitest'
import { SCHEDULE_STALE_S } from '../../../src/core/limits.ts'
import { healthPort } from '../../../src/adapters/d1/health.ts'
import { cachedHealth } from '../../../src/flows/health.ts'
import { HOST, makeWorld, NOBODY, type World } from '../people/world.ts'

let world: World
beforeAll(async () => {
  world = await makeWorld({ health: healthPort([env.DB]) })
})

const checkedAt = (atS: number) =>
  env.DB.prepare('UPDATE schedule SET checked_s = ?1 WHERE one = 1').bind(atS).run()

describe('/healthz', () => {
  test('is green while the schedule runs, red when it has not for 15 minutes', async () => {
    await checkedAt(world.clock.nowS - SCHEDULE_STALE_S)
    const green = await world.call(NOBODY, 'GET /healthz')
    expect(green.status).toBe(200)
    expect(green.body).toEqual({ ok: true, checkedAt: expect.stringMatching(/Z$/) })
    expect(green.headers.get('cache-control')).toBe('public, max-age=30')
    world.clock.nowS += 1
    const red = await world.call(NOBODY, 'GET /healthz')
    expect(red.status).toBe(503)
    expect(red.body.ok).toBe(false)
  })

  test('tells the host more, and nobody else', async () => {
    await checkedAt(world.clock.nowS)
    const host = await world.call(HOST, 'GET /healthz')
    expect(host.body.host).toEqual({
      shards: 1,
      rigsSetBack: 0,
      rigsBehind: 0,
      deliveriesWaiting: 0,
      deliveriesOverdue: 0,
      devicesRefused: 0,
      errors: {},
    })
    expect(host.headers.get('cache-control')).toBe('no-store')
    const { who } = await world.join(await world.hangar('Health'), 'keeper', 'Mira')
    expect((await world.call(who, 'GET /healthz')).body).not.toHaveProperty('host')
  })

  test('reads one row, and none again within 30 seconds', async () => {
    let reads = 0
    const port = cachedHealth({
      ...healthPort([env.DB]),
      checkedAtS: async () => {
        reads += 1
        const { results, meta } = await env.DB.prepare('SELECT checked_s FROM schedule WHERE one = 1').all()
        expect(meta.rows_read).toBe(1)
        return Number(results[0]?.['checked_s'])
      },
    })
    for (let ask = 0; ask < 5; ask++) await port.checkedAtS()
    expect(reads).toBe(1)
  })
})
