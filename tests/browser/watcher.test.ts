/** What a watcher reads where only keepers may act. */
import { test } from 'vitest'
import type { Overrides } from './fake/api.ts'
import { me } from './fake/data.ts'
import { membersAt } from './fake/people.ts'
import type { Opened } from './open.ts'
import { servedApp } from './served-app.ts'

const served = servedApp()

const nowS = Math.floor(Date.now() / 1000)
const list = (items: unknown[]) => () => ({ body: { items, next: null } })
const open = (path: string, overrides: Overrides): Promise<Opened> =>
  served.open({ path, size: 'phone', nowS, overrides })

test('a watcher is told whom to ask about a hub', async () => {
  const { page, context } = await open('/hub', {
    'GET /v1/me': () => ({
      body: { ...me, hangars: [{ id: 'h1', name: 'Sandmere, Row C', role: 'watcher' }] },
    }),
    'GET /v1/hangars/*/members': list(membersAt(nowS)),
  })
  await page.getByText('Hubs are for the keepers of a hangar. Here that is Ines.').waitFor()
  await context.close()
})
