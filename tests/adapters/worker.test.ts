import { applyD1Migrations } from 'cloudflare:test'
import { env, exports } from 'cloudflare:workers'
import { expect, test } from 'vitest'

test('the Worker itself answers: red before the schedule has ever run', async () => {
  await applyD1Migrations(env.DB, env.TEST_MIGRATIONS)
  const answer = await exports.default.fetch('http://localhost/healthz')
  expect(answer.status).toBe(503)
  expect(await answer.json()).toEqual({ ok: false, checkedAt: null })
})
