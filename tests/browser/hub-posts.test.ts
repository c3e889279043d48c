/** The posts of a hub as they come in: the page asks for the newest few, and not for all of them every time. */
import { expect, test } from 'vitest'
import { postsAt } from './fake/people.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

const nowS = Math.floor(Date.now() / 1000)

test('new posts appear by themselves, and the whole list is asked for once', async () => {
  const [first] = postsAt(nowS)
  const posts = Array.from({ length: 30 }, (_, i) =>
    Object.assign({}, first, { id: `old${i}`, body: `old ${i}` }),
  )
  const asked = { whole: 0, newest: 0 }
  const { page, context } = await served.open({
    path: '/hub/so1',
    nowS,
    overrides: {
      'GET /v1/sources/*/posts': ({ url }) => {
        const limit = Number(url.searchParams.get('limit'))
        asked[limit >= 100 ? 'whole' : 'newest'] += 1
        return { body: { items: posts.slice(0, limit), next: posts.length > limit ? 'more' : null } }
      },
    },
  })
  const lines = page.locator('.posts > li')
  await expect.poll(() => lines.count()).toBe(30)
  posts.unshift(Object.assign({}, first, { id: 'new', body: 'the newest of all' }))
  await expect.poll(() => lines.count(), { timeout: 10_000 }).toBe(31)
  await lines.first().locator('summary').click()
  await page.getByText('the newest of all').waitFor()
  expect(asked.newest).toBeGreaterThan(1)
  expect(asked.whole).toBe(1)
  // More at once than the newest few: the whole list says what is between.
  posts.unshift(...Array.from({ length: 8 }, (_, i) => Object.assign({}, first, { id: `burst${i}` })))
  await expect.poll(() => lines.count(), { timeout: 10_000 }).toBe(39)
  expect(asked.whole).toBe(2)
  await context.close()
})
