import { exports } from 'cloudflare:workers'
import { expect, test } from 'vitest'
test('answers', async () => {
  const answer = await exports.default.fetch('http://localhost/healthz')
  expect(await answer.json()).toEqual({ ok: true })
})
